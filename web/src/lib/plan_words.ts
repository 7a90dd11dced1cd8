/** A plan in the sentences that the command line uses. */
import type { Chosen, Finding, PlannedPart, PrintedPart, StockLine } from '../api/types';
import { counted, directionWords, durationWords, figure, percent, secondsWords } from './format';

export interface Line { what: string; words: string; tone?: 'warn' }
const STANDING: Record<string, string> = { flat: 'flat', 'on-edge': 'on edge', turned: 'turned, in a cradle' };
const KINDS: Record<string, string> = {
  trays: 'two halves, each poured in a printed tray',
  bedding: 'two halves around a master laid in a bedding',
  'open-face': 'an open mould, the back left free',
  block: 'one block, cut open along a line',
};

export function kindWords(kind: string): string {
  return KINDS[kind] ?? kind;
}

export function linesOf(part: PlannedPart): Line[] {
  const choice = part.materials;
  const lines: Line[] = [
    ...(part.route ? [{ what: 'Route', words: part.route.why }] : []),
    { what: 'Mould', words: mouldWords(part) },
    { what: 'Print', words: printWords(part) },
    { what: 'Pour', words: pourWords(part) },
  ];
  if (choice?.silicone) lines.push(chosenLine('Silicone', choice.silicone));
  if (choice?.casting) {
    const line = chosenLine('Cast', choice.casting);
    const life = choice.mould_life_shots;
    const lasts = life ? `; the mould lasts about ${life[0]}–${life[1]}` : '';
    const shots = `${choice.pours} shots in ${choice.rounds} rounds, spoiled ones reckoned in`;
    lines.push({ ...line, words: `${line.words}; ${shots}${lasts}` });
  }
  if (part.elapsed.first_copy_min !== null && part.elapsed.all_copies_min !== null) {
    lines.push({ what: 'Time', words: `first proof after ${durationWords(part.elapsed.first_copy_min)}, last copy after ${durationWords(part.elapsed.all_copies_min)}, if hands and printer never keep it waiting` });
  }
  return lines;
}

/** A part whose copies are printed directly: it has no mould. */
export function printedLinesOf(part: PrintedPart): Line[] {
  const uses = part.material_g ? `, ${figure(part.prints * part.material_g)} g with supports` : '';
  return [
    { what: 'Route', words: part.route.why },
    { what: 'Print', words: `each copy, ${part.material}, on ${part.printer}, layers of ${figure(part.layer_mm)} mm, ${part.finish}` },
    { what: 'Prints', words: `${part.prints} in ${counted(part.plates, 'plate', 'plates')}${part.prints > part.copies ? ', spoiled ones reckoned in' : ''}${uses}; ${durationWords(part.printer_min)} in all` },
    { what: 'Stands', words: `${directionWords(part.up)} up, as in ${part.file}` },
    { what: 'Time', words: `first copy after ${durationWords(part.first_copy_min)}, last after ${durationWords(part.all_copies_min)}; ${durationWords(part.hands_min)} of hands` },
  ];
}

function mouldWords(part: PlannedPart): string {
  const pours = part.mould.pieces.filter((piece) => piece.role === 'silicone').length;
  return `${kindWords(part.mould.kind)}; opens along ${directionWords(part.mould.draw)}; ${figure(part.mould.silicone_ml)} ml of silicone in ${counted(pours, 'pour', 'pours')}`;
}

function printWords(part: PlannedPart): string {
  const total = part.prints.reduce((sum, one) => sum + one.print_min, 0);
  const printers = new Map<string, string[]>();
  for (const one of part.prints) printers.set(one.printer, [...(printers.get(one.printer) ?? []), one.piece]);
  return `${durationWords(total)} in all: ${[...printers].map(([printer, pieces]) => `${pieces.join(', ')} on ${printer}`).join('; ')}`;
}

function pourWords(part: PlannedPart): string {
  const fill = part.fill;
  if (!fill) return 'into the open back, level with the rim';
  const best = fill.directions[0];
  const standing = best ? (STANDING[best.kind] ?? `tilted ${best.tilt_deg.toFixed(0)}°`) : `with ${directionWords(fill.up)} up`;
  const vents = fill.channels.filter((channel) => channel.use === 'vent').length;
  const time = part.flow?.fill_s == null ? '' : `; fills in ${secondsWords(part.flow.fill_s)}`;
  return `mould ${standing}, ${vents ? counted(vents, 'vent', 'vents') : 'no vent'}, ${figure(fill.trapped_vented_mm3)} mm³ of air stay${time}`;
}

function chosenLine(what: string, chosen: Chosen): Line {
  const mix = chosen.mixes[0];
  const pour = chosen.pours.find((one) => mix && one.temperature_c === mix.temperature_c);
  if (!pour || pour.pot_life_min === null || pour.margin_min === null) return { what, words: chosen.name };
  const left = pour.margin_min >= 0 ? `${pour.margin_min.toFixed(0)} min to spare` : `${(-pour.margin_min).toFixed(0)} min too late`;
  const sure = pour.fits ? '' : `, too tight (${percent(pour.chance)} of such pours are in time)`;
  return {
    what,
    words: `${chosen.name}; pot life ${durationWords(pour.pot_life_min)}, ${left}${sure}; demould after ${durationWords(chosen.demould_min)}`,
    tone: pour.fits ? undefined : 'warn',
  };
}

export function buyWords(line: StockLine): string {
  if (!line.buy) return 'no pack of it is known';
  const packs = line.buy.packs.map((pack) => `${pack.count} × ${figure(pack.part_a_g)}${pack.part_b_g ? ` + ${figure(pack.part_b_g)}` : ''} g`);
  return packs.join(', ') + (line.buy.cost === null ? '' : `, about ${line.buy.cost.toFixed(2)} in your currency`);
}

/** What is said of several parts in the same words, said once with all their places. */
export function saidOnce(findings: readonly Finding[]): Finding[] {
  const found = new Map<string, Finding & { places: string[] }>();
  for (const one of findings) {
    const key = `${one.code} ${one.what} ${one.remedy}`;
    const same = found.get(key) ?? { ...one, places: [] };
    if (one.where && !same.places.includes(one.where)) same.places.push(one.where);
    found.set(key, same);
  }
  return [...found.values()].map(({ places, ...one }) => ({ ...one, where: places.length ? places.join('; ') : null }));
}

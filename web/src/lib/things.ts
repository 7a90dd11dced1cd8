/** Gates, vents, pockets of air and undercuts in words: the number and the reason of each. */
import type { Marks3d } from '../api/types';
import { figure, placeWords } from './format';

export interface Thing {
  key: string;
  words: string;
  more: string;
}
const NAMES: Record<string, string> = { gate: 'Gate', vent: 'Vent', pocket: 'Air pocket', undercut: 'Undercut' };

export function named(key: string): string {
  const [kind, number] = key.split('-');
  return `${NAMES[kind] ?? kind} ${number ?? ''}`.trim();
}

export function thingsOf(marks: Marks3d): Thing[] {
  const floor_mm = marks.level_from_mm ?? 0;
  return [
    ...marks.channels.map((one) => ({
      key: one.key,
      words: `${named(one.key)}: ${one.reason}`,
      more: `at ${placeWords(one.at_mm)}, on a ${one.place} place; ${one.made_as.replaceAll('-', ' ')}; ${figure(2 * one.radius_start_mm)} mm wide at the part`,
    })),
    ...marks.pockets.map((one) => ({
      key: one.key,
      words: `${named(one.key)}: ${figure(one.volume_mm3)} mm³ of air with the gate alone, ${figure(one.vented_mm3)} mm³ with the vents`,
      more: `its top at ${placeWords(one.top_mm)}${one.on_show ? ', on a show face' : ', where nobody looks'}; shut in once the mix stands ${figure(one.seals_at_mm - floor_mm)} mm above the lowest place: every way from there to an opening dips below that level`,
    })),
    ...marks.undercuts.map((one) => ({
      key: one.key,
      words: `${named(one.key)}: ${figure(one.volume_mm3)} mm³, ${one.depth_mm === null ? 'shut in' : `${figure(one.depth_mm)} mm deep`}`,
      more: `comes out as a ${one.way}${one.stretch_ratio === null ? '' : `, stretching the silicone by ${figure(100 * one.stretch_ratio)} %`}; in the ${one.half} half`,
    })),
  ];
}

/** What is looked at on one part: its mesh, what is drawn on it, what is tried; shared by the view and its panels. */
import { bytes, get, patch, post, put } from '../api/client';
import type { FillTry, Marks3d, OpenJob, ShownPieces } from '../api/types';
import type { Picked, Viewer } from '../viewer/viewer';
import { Marking, type Mark } from './marking';
import { meshOf, type SentMesh } from './mesh';
import { triedOf, type Opening } from './openings';
import { thingsOf } from './things';

export const TASKS = [
  ['look', 'Colours and openings'], ['fill', 'The fill'], ['mould', 'The mould'], ['ways', 'Directions'], ['paint', 'Show and hidden faces'],
] as const;
export type TaskKey = (typeof TASKS)[number][0];
const NEVER_ABOVE_MM = 1e4;

export class PartView {
  key = $state('');
  task = $state<TaskKey>('look');
  viewer = $state.raw<Viewer | null>(null);
  mesh = $state.raw<SentMesh | null>(null);
  marks = $state.raw<Marks3d | null>(null);
  pieces = $state.raw<ShownPieces | null>(null);
  error = $state.raw<unknown>(null);
  noView = $state('');
  loading = $state(true);
  kept = $state('');
  /** The gate, vent, pocket or undercut that is told of. */
  chosen = $state('');
  colouring = $state('plain');
  kinds = $state<string[]>(['seam', 'gate', 'vent', 'pocket']);
  level = $state(0);
  withVents = $state(true);
  open = $state(60);
  shownPieces = $state<string[]>([]);
  copyShown = $state(true);
  /** Openings as they are tried, the gate first; the plan's until one is moved. */
  openings = $state<Opening[]>([]);
  trial = $state.raw<FillTry | null>(null);
  trying = $state(false);
  /** The opening that the next click on the part places; none: −1. */
  placing = $state(-1);
  marking = $state.raw<Marking | null>(null);
  mark = $state<Mark>('show');
  tool = $state<'brush' | 'flood'>('brush');
  brush_mm = $state(4);
  turn_deg = $state(12);
  /** Counts the changes of the marks. */
  marked = $state(0);

  readonly things = $derived(this.marks ? thingsOf(this.marks) : []);
  readonly wet = $derived.by(() => {
    if (this.trial) return Float32Array.from(this.trial.wet_mm, (one) => one ?? Infinity);
    return this.mesh?.attributes.get(this.withVents ? 'wet_mm' : 'wet_gate_mm');
  });
  readonly never_mm = $derived(this.marks ? (this.marks.level_to_mm ?? 0) + NEVER_ABOVE_MM : 1e8);
  /** Whether an opening lies elsewhere than in the plan, or one more or less is there. */
  readonly moved = $derived(this.marks !== null && JSON.stringify(this.openings) !== JSON.stringify(triedOf(this.marks)));

  constructor(
    readonly job: OpenJob,
    /** Those that are cast; what is printed directly has no mould to look at. */
    readonly parts: OpenJob['parts'],
    private readonly replan: () => void,
  ) {
    const remembered = sessionStorage.getItem(`part-${job.id}`) ?? '';
    this.key = parts.some((part) => part.key === remembered) ? remembered : parts[0].key;
    const task = sessionStorage.getItem(`part-task-${job.id}`);
    this.task = TASKS.find(([key]) => key === task)?.[0] ?? 'look';
  }

  get part() {
    return this.job.parts.find((one) => one.key === this.key)!;
  }

  private get base(): string {
    return `/api/jobs/${this.job.id}/parts/${this.key}`;
  }

  async load(host: HTMLElement): Promise<void> {
    const asked = this.key;
    this.loading = true;
    this.error = null;
    sessionStorage.setItem(`part-${this.job.id}`, this.key);
    try {
      const [module, sent, marks] = await Promise.all([import('../viewer/viewer'), bytes(`${this.base}/mesh`), get<Marks3d>(`${this.base}/marks3d`)]);
      if (asked !== this.key || !host.isConnected) return;
      try {
        this.viewer ??= new module.Viewer(host, { picked: (what) => this.picked(what), stroked: (what) => this.stroked(what), moved: (key, at_mm, ended) => this.moveTo(key, at_mm, ended) });
      } catch { this.noView = 'This browser draws no 3D: the lists beside still say everything.'; }
      this.take(meshOf(sent), marks);
      if (this.task === 'mould') await this.loadPieces();
    } catch (problem) { this.error = problem; }
    this.loading = false;
  }

  private take(mesh: SentMesh, marks: Marks3d): void {
    this.mesh = mesh;
    this.marks = marks;
    this.pieces = null;
    this.chosen = '';
    this.viewer?.clearPieces();
    this.viewer?.showPart(mesh);
    this.viewer?.showOpenings(marks);
    this.level = marks.level_to_mm ?? 0;
    this.asPlanned();
    const bits = mesh.attributes.get('mark');
    this.marking = new Marking(mesh, bits ? Array.from(bits, (sum) => (sum & 4 ? 3 : sum & 2 ? 2 : sum & 1 ? 1 : 0)) : undefined);
    this.marked += 1;
  }

  async to(task: TaskKey): Promise<void> {
    this.task = task;
    this.placing = -1;
    sessionStorage.setItem(`part-task-${this.job.id}`, task);
    if (task === 'mould') {
      try { await this.loadPieces(); } catch (problem) { this.error = problem; }
    }
  }

  private async loadPieces(): Promise<void> {
    if (this.pieces || !this.viewer) return;
    const found = await get<ShownPieces>(`${this.base}/pieces`);
    const sent = await Promise.all(found.pieces.map((one) => bytes(`${this.base}/pieces/${one.key}/mesh`)));
    found.pieces.forEach((one, k) => this.viewer?.showPiece(found, one.key, meshOf(sent[k])));
    this.pieces = found;
    const silicone = found.pieces.filter((one) => one.role === 'silicone').map((one) => one.key);
    this.shownPieces = silicone.length ? silicone : found.pieces.filter((one) => !one.below).map((one) => one.key);
  }

  private picked(what: Picked): void {
    if (this.placing >= 0 && what.face !== null) {
      const opening = this.openings[this.placing];
      this.placing = -1;
      if (opening) this.moveTo(opening.key, what.at_mm, true);
    } else if (what.key) this.chosen = what.key;
  }

  private stroked(what: Picked): void {
    if (!this.marking || what.face === null) return;
    const faces = this.tool === 'brush' ? this.marking.inBrush(what.face, what.at_mm, this.brush_mm) : this.marking.flood(what.face, this.turn_deg);
    this.marking.mark(faces, this.mark);
    this.marked += 1;
  }

  markFacing(direction: readonly number[], within_deg: number): void {
    this.marking?.mark(this.marking.facing(direction, within_deg), this.mark);
    this.marked += 1;
  }

  undoMark(): void {
    this.marking?.undo();
    this.marked += 1;
  }

  /** An opening dragged or placed on the part; once it lies, the air is worked out. */
  private moveTo(key: string, at_mm: readonly number[], ended: boolean): void {
    const opening = this.openings.find((one) => one.key === key);
    if (!opening) return;
    opening.at_mm = at_mm.map((one) => Math.round(100 * one) / 100);
    if (ended) this.tryOut();
  }

  addVent(): void {
    const number = 1 + Math.max(0, ...this.openings.map((one) => Number(one.key.split('-')[1]) * Number(one.key.startsWith('vent'))));
    this.openings.push({ key: `vent-${number}`, at_mm: [...this.marks!.high_mm] });
    this.placing = this.openings.length - 1;
  }

  leaveOut(key: string): void {
    this.openings = this.openings.filter((one) => one.key !== key);
    this.placing = -1;
    this.tryOut();
  }

  asPlanned(): void {
    this.openings = this.marks ? triedOf(this.marks) : [];
    this.trial = null;
    this.placing = -1;
  }

  private get gate_mm(): number[] {
    return this.openings[0].at_mm;
  }

  private get vents_mm(): number[][] {
    return this.openings.slice(1).map((one) => one.at_mm);
  }

  async tryOut(): Promise<void> {
    this.trying = true;
    this.error = null;
    try {
      this.trial = await post<FillTry>(`${this.base}/fill-try`, { gate_mm: this.gate_mm, vents_mm: this.vents_mm });
      this.withVents = true;
    } catch (problem) { this.error = problem; }
    this.trying = false;
  }

  async wish(change: object, words: string): Promise<void> {
    this.error = null;
    try {
      await patch(`/api/jobs/${this.job.id}`, { parts: { [this.key]: change } });
      this.kept = words;
      this.replan();
    } catch (problem) { this.error = problem; }
  }

  keepOpenings(): Promise<void> {
    return this.wish({ gates_mm: [this.gate_mm], vents_mm: this.vents_mm }, 'Gate and vents are kept; the plan is worked out again.');
  }

  async keepMarks(): Promise<void> {
    if (!this.marking) return;
    this.error = null;
    try {
      await put(`${this.base}/marks`, { show: this.marking.of('show'), hidden: this.marking.of('hidden'), keep_clear: this.marking.of('keep clear') });
      this.kept = 'The faces are kept; the plan is worked out again.';
      this.replan();
    } catch (problem) { this.error = problem; }
  }
}

/** Which faces are shown, hidden or kept clear; chosen by brush, by angle or by flood, and undone step by step. */
import { neighboursOf, normalsOf, type SentMesh } from './mesh';

export const MARKS = ['unmarked', 'show', 'hidden', 'keep clear'] as const;
export type Mark = (typeof MARKS)[number];
type Change = { faces: number[]; before: number[] };
const MOST_UNDOS = 100;

export class Marking {
  readonly marks: Uint8Array;
  private readonly normals: Float32Array;
  private readonly centres: Float32Array;
  private next: Int32Array | null = null;
  private readonly changes: Change[] = [];

  constructor(
    private readonly mesh: SentMesh,
    given?: ArrayLike<number>,
  ) {
    this.marks = Uint8Array.from(given ?? new Uint8Array(mesh.faces.length / 3));
    this.normals = normalsOf(mesh);
    this.centres = new Float32Array(mesh.faces.length);
    for (let f = 0; f < mesh.faces.length; f += 3) {
      for (let k = 0; k < 3; k += 1) {
        const sum = [0, 1, 2].reduce((total, corner) => total + mesh.xyz_mm[3 * mesh.faces[f + corner] + k], 0);
        this.centres[f + k] = sum / 3;
      }
    }
  }

  get undos(): number {
    return this.changes.length;
  }

  /** Faces joined to `seed` whose centres lie within the brush. */
  inBrush(seed: number, at_mm: readonly number[], radius_mm: number): number[] {
    const near = (f: number) => Math.hypot(...[0, 1, 2].map((k) => this.centres[3 * f + k] - at_mm[k])) <= radius_mm;
    return this.grow(seed, (_, to) => near(to));
  }

  /** All faces that look along `direction` within an angle. */
  facing(direction: readonly number[], within_deg: number): number[] {
    const size = Math.hypot(...direction) || 1;
    const least = Math.cos((within_deg * Math.PI) / 180) * size;
    const found: number[] = [];
    for (let f = 0; f < this.marks.length; f += 1) {
      const along = [0, 1, 2].reduce((sum, k) => sum + this.normals[3 * f + k] * direction[k], 0);
      if (along >= least - 1e-9) found.push(f);
    }
    return found;
  }

  /** From `seed` over every edge that turns by no more than an angle. */
  flood(seed: number, turn_deg: number): number[] {
    const least = Math.cos((turn_deg * Math.PI) / 180) - 1e-6;
    return this.grow(seed, (from, to) => {
      const along = [0, 1, 2].reduce((sum, k) => sum + this.normals[3 * from + k] * this.normals[3 * to + k], 0);
      return along >= least;
    });
  }

  /** Give the faces a mark; one step to undo. */
  mark(faces: readonly number[], mark: Mark): void {
    const value = MARKS.indexOf(mark);
    const changed = faces.filter((f) => this.marks[f] !== value);
    if (!changed.length) return;
    this.changes.push({ faces: changed, before: changed.map((f) => this.marks[f]) });
    if (this.changes.length > MOST_UNDOS) this.changes.shift();
    for (const f of changed) this.marks[f] = value;
  }

  undo(): void {
    const last = this.changes.pop();
    last?.faces.forEach((f, k) => (this.marks[f] = last.before[k]));
  }

  /** Numbers of the faces of one mark. */
  of(mark: Mark): number[] {
    const value = MARKS.indexOf(mark);
    const found: number[] = [];
    this.marks.forEach((one, f) => one === value && found.push(f));
    return found;
  }

  private grow(seed: number, joins: (from: number, to: number) => boolean): number[] {
    this.next ??= neighboursOf(this.mesh.faces);
    const seen = new Set([seed]);
    const open = [seed];
    for (let face = open.pop(); face !== undefined; face = open.pop()) {
      for (let k = 0; k < 3; k += 1) {
        const to = this.next[3 * face + k];
        if (to >= 0 && !seen.has(to) && joins(face, to)) {
          seen.add(to);
          open.push(to);
        }
      }
    }
    return [...seen];
  }
}

/** Where on a copy a defect sits, in the words of the bench, from the point that was tapped (decision 0073). */
import type { Marks3d } from '../api/types';

/** Shares of the part's diagonal, and of its height along the way up; estimates of our own. */
const NEAR_RATIO = 0.04;
const SEAM_RATIO = 0.02;
const END_RATIO = 0.1;
const THIN_RATIO = 0.05;
const THICK_RATIO = 0.2;
export const AGAINST = 'against the mould';

type Point = readonly number[];

/** Every place that the point is at, the most telling first; it always lies against the mould. */
export function placesAt(marks: Marks3d, at_mm: Point, thickness_mm: number | null): string[] {
  const size = distance(marks.low_mm, marks.high_mm);
  const found: string[] = [];
  const gates = marks.channels.filter((one) => one.use === 'gate');
  const atGate = (gate: (typeof gates)[number]) => [gate.at_mm, ...gate.feet_mm].some((foot) => distance(foot, at_mm) <= gate.radius_start_mm + NEAR_RATIO * size);
  if (gates.some(atGate)) found.push('at the gate');
  if (marks.pockets.some((pocket) => distance(pocket.top_mm, at_mm) <= NEAR_RATIO * size)) found.push('where air was foretold');
  if (marks.seams_mm.some((line) => fromLine(line, at_mm) <= SEAM_RATIO * size)) found.push('along the parting line');
  if (thickness_mm !== null && thickness_mm < THIN_RATIO * size) found.push('thin walls');
  if (thickness_mm !== null && thickness_mm > THICK_RATIO * size) found.push('thick sections');
  if (marks.up && marks.level_from_mm !== null && marks.level_to_mm !== null) {
    const length = Math.hypot(...marks.up);
    const level = marks.up.reduce((sum, part, k) => sum + (part * at_mm[k]) / length, 0);
    const share = (level - marks.level_from_mm) / (marks.level_to_mm - marks.level_from_mm || 1);
    if (share > 1 - END_RATIO) found.push('highest places');
    if (share < END_RATIO) found.push('lowest places');
  }
  return [...found, AGAINST];
}

function distance(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

/** Least distance to a closed line. */
function fromLine(line: readonly Point[], at: Point): number {
  return Math.min(...line.map((from, k) => fromPiece(from, line[(k + 1) % line.length], at)));
}

function fromPiece(from: Point, to: Point, at: Point): number {
  const way = [0, 1, 2].map((k) => to[k] - from[k]);
  const square = way.reduce((sum, one) => sum + one * one, 0) || 1;
  const share = Math.min(1, Math.max(0, way.reduce((sum, one, k) => sum + one * (at[k] - from[k]), 0) / square));
  return distance(at, from.map((one, k) => one + share * way[k]));
}

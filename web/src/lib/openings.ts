/** Gate and vents as they are tried: the plan's at first, then moved. */
import type { Marks3d } from '../api/types';

export interface Opening {
  /** As in the plan: gate-1, vent-1, vent-2… */
  key: string;
  at_mm: number[];
}

/** The plan's own, the gate first; where it has none, the highest place. */
export function triedOf(marks: Marks3d): Opening[] {
  const places = (use: string) => marks.channels.filter((one) => one.use === use).map((one) => ({ key: one.key, at_mm: [...one.at_mm] }));
  const gate = places('gate')[0] ?? { key: 'gate-1', at_mm: [...marks.high_mm] };
  return [gate, ...places('vent')];
}

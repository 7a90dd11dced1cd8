import type { Map as ColourMap } from './colours';

/** A legend's bar. */
export function cssGradient(map: ColourMap): string {
  return `linear-gradient(to right, ${map.join(', ')})`;
}

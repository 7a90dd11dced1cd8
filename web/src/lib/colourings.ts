/** What the part can be coloured by, with the range that its legend shows. */
import { CIVIDIS, VIRIDIS, type Map as ColourMap } from './colours';
import { rangeOf } from './mesh';

export interface Colouring {
  key: string;
  words: string;
  /** Name of the figure that the server sends. */
  figure: string;
  unit: string;
  map: ColourMap;
  why: string;
  range: (values: Float32Array) => [number, number];
}

function upTo(least: number): (values: Float32Array) => [number, number] {
  return (values) => [0, Math.max(least, rangeOf(values.filter(Number.isFinite))[1])];
}

export const COLOURINGS: Colouring[] = [
  { key: 'draft', words: 'Draft', figure: 'draft_deg', unit: '°', map: CIVIDIS, range: () => [-10, 30],
    why: 'The angle of each face to the draw. Below 0 the silicone is held; near 0 it rubs as it comes off.' },
  { key: 'undercut', words: 'Undercut', figure: 'undercut_mm', unit: 'mm', map: VIRIDIS, range: upTo(0.5),
    why: 'How far the silicone must give way sideways before it comes off the face.' },
  { key: 'step', words: 'Layer steps', figure: 'step_mm', unit: 'mm', map: VIRIDIS, range: upTo(0.05),
    why: 'The step that the layers of the print leave on the face; silicone copies it.' },
  { key: 'wet', words: 'Wetting level', figure: 'wet_mm', unit: 'mm', map: VIRIDIS, range: (values) => rangeOf(values.filter(Number.isFinite)),
    why: 'How high the mix stands, along the way up from the origin, when it reaches the face, with the vents open.' },
];

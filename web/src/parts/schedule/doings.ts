import { OKABE_ITO } from '../../lib/colours';

export const DOINGS: [string, string, string][] = [
  ['print', OKABE_ITO.sky, 'printing'],
  ['work', OKABE_ITO.orange, 'work by hand'],
  ['pour', OKABE_ITO.blue, 'pouring'],
  ['wait', '#9a9a93', 'curing or drying'],
  ['demould', OKABE_ITO.green, 'opening and taking out'],
];
const COLOURS = Object.fromEntries(DOINGS.map(([doing, colour]) => [doing, colour]));

export const colourOf = (doing: string): string => COLOURS[doing] ?? COLOURS.wait;
export const doingWords = (doing: string): string => DOINGS.find(([one]) => one === doing)?.[2] ?? doing;

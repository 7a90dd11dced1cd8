/**
 * Colour maps that are legible with every common colour blindness.
 * viridis: S. van der Walt and N. Smith, 2015, CC0. cividis: J. R. Nuñez, C. R. Anderton, R. S. Renslow,
 * PLOS ONE 13 (2018) e0199239. Both by nine nodes of the published tables, straight lines between.
 * Single colours: M. Okabe and K. Ito, Color Universal Design, 2008.
 */
export type Map = readonly string[];

export const VIRIDIS: Map = ['#440154', '#472d7b', '#3b528b', '#2c728e', '#21918c', '#28ae80', '#5ec962', '#addc30', '#fde725'];
export const CIVIDIS: Map = ['#00224e', '#1a386f', '#434e6c', '#61656f', '#7d7c78', '#9b9476', '#bcae6c', '#dec958', '#fee838'];
export const OKABE_ITO = {
  orange: '#e69f00',
  sky: '#56b4e9',
  green: '#009e73',
  yellow: '#f0e442',
  blue: '#0072b2',
  vermilion: '#d55e00',
  purple: '#cc79a7',
} as const;

/** What is drawn on the part. */
export const THING_COLOURS = {
  seam: OKABE_ITO.vermilion,
  gate: OKABE_ITO.orange,
  vent: OKABE_ITO.sky,
  pocket: OKABE_ITO.purple,
  undercut: OKABE_ITO.yellow,
} as const;
export const LEVEL_COLOURS = { wet: OKABE_ITO.blue, dry: '#d9dcd8', air: OKABE_ITO.vermilion } as const;
/** Faces unmarked, show, hidden, keep clear. */
export const MARK_COLOURS = ['#c3c9c7', OKABE_ITO.sky, '#7a6a55', OKABE_ITO.yellow] as const;

export function rgb(hex: string): [number, number, number] {
  return [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16)) as [number, number, number];
}

/** The colour of a share 0..1 of the map. */
export function colourAt(map: Map, share: number): [number, number, number] {
  const place = Math.min(Math.max(share, 0), 1) * (map.length - 1);
  const low = Math.min(Math.floor(place), map.length - 2);
  const [from, to] = [rgb(map[low]), rgb(map[low + 1])];
  return from.map((value, k) => Math.round(value + (to[k] - value) * (place - low))) as [number, number, number];
}

/** A table of `width` RGBA entries for a look-up texture. */
export function tableOf(map: Map, width = 256): Uint8Array {
  const table = new Uint8Array(4 * width);
  for (let k = 0; k < width; k += 1) table.set([...colourAt(map, k / (width - 1)), 255], 4 * k);
  return table;
}

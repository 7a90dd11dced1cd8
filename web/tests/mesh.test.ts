import { describe, expect, it } from 'vitest';
import { Marking } from '../src/lib/marking';
import { cornerNormalsOf, meshOf, neighboursOf, normalsOf, rangeOf } from '../src/lib/mesh';

/** A cube of 1 mm, twelve faces, counter-clockwise from outside. */
const XYZ = new Float32Array([0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0, 0, 0, 1, 1, 0, 1, 1, 1, 1, 0, 1, 1]);
const FACES = new Uint32Array([0, 2, 1, 0, 3, 2, 4, 5, 6, 4, 6, 7, 0, 1, 5, 0, 5, 4, 1, 2, 6, 1, 6, 5, 2, 3, 7, 2, 7, 6, 3, 0, 4, 3, 4, 7]);
const CUBE = { xyz_mm: XYZ, faces: FACES, attributes: new Map() };

function sent(): ArrayBuffer {
  const size = 20 + 32 + 4 * XYZ.length + 4 * FACES.length + 4 * 12;
  const buffer = new ArrayBuffer(size);
  const view = new DataView(buffer);
  [...'FPME'].forEach((letter, k) => view.setUint8(k, letter.charCodeAt(0)));
  [1, 8, 12, 1].forEach((value, k) => view.setUint32(4 + 4 * k, value, true));
  [...'draft_deg'].forEach((letter, k) => view.setUint8(20 + k, letter.charCodeAt(0)));
  XYZ.forEach((value, k) => view.setFloat32(52 + 4 * k, value, true));
  FACES.forEach((value, k) => view.setUint32(52 + 96 + 4 * k, value, true));
  for (let k = 0; k < 12; k += 1) view.setFloat32(52 + 96 + 144 + 4 * k, k / 2, true);
  return buffer;
}

describe('a mesh as it is sent', () => {
  it('is read whole', () => {
    const mesh = meshOf(sent());
    expect([...mesh.xyz_mm]).toEqual([...XYZ]);
    expect([...mesh.faces]).toEqual([...FACES]);
    expect(mesh.attributes.get('draft_deg')![11]).toBe(5.5);
  });
  it('is refused where it is cut short or of another kind', () => {
    expect(() => meshOf(sent().slice(0, -4))).toThrow('cut short');
    expect(() => meshOf(new ArrayBuffer(40))).toThrow('another version');
  });
  it('gives the least and the most, infinite ones told', () => {
    expect(rangeOf([3, -1, NaN, 2])).toEqual([-1, 3]);
    expect(rangeOf([])).toEqual([0, 1]);
  });
});

describe('the shape of a cube', () => {
  it('has normals along the axes', () => {
    expect([...normalsOf(CUBE).slice(0, 3)]).toEqual([0, 0, -1]);
    for (let f = 0; f < 12; f += 1) expect(Math.max(...normalsOf(CUBE).slice(3 * f, 3 * f + 3).map(Math.abs))).toBe(1);
  });
  it('keeps its edges sharp', () => {
    const corners = cornerNormalsOf(CUBE, 35);
    const flat = normalsOf(CUBE);
    for (let k = 0; k < 36; k += 1) expect(corners[3 * k + 2]).toBeCloseTo(flat[3 * Math.floor(k / 3) + 2]);
  });
  it('has three neighbours a face', () => {
    const next = neighboursOf(FACES);
    expect([...next].every((face) => face >= 0)).toBe(true);
    next.forEach((other, side) => expect([...next.slice(3 * other, 3 * other + 3)]).toContain(Math.floor(side / 3)));
  });
});

describe('marking faces', () => {
  it('floods over what goes on smoothly and stops at an edge', () => {
    const marking = new Marking(CUBE);
    expect(marking.flood(2, 12).sort()).toEqual([2, 3]);
    expect(marking.flood(2, 91)).toHaveLength(12);
  });
  it('finds what looks one way', () => {
    expect(new Marking(CUBE).facing([0, 0, 5], 30)).toEqual([2, 3]);
    expect(new Marking(CUBE).facing([0, 0, 1], 180)).toHaveLength(12);
  });
  it('brushes near faces only', () => {
    expect(new Marking(CUBE).inBrush(2, [0.6, 0.4, 1], 0.6).sort()).toContain(2);
    expect(new Marking(CUBE).inBrush(2, [0.6, 0.4, 1], 10)).toHaveLength(12);
  });
  it('undoes step by step', () => {
    const marking = new Marking(CUBE, new Uint8Array(12).fill(1));
    marking.mark([0, 1], 'hidden');
    marking.mark([1, 2], 'keep clear');
    marking.undo();
    expect(marking.of('hidden')).toEqual([0, 1]);
    marking.undo();
    expect(marking.of('show')).toHaveLength(12);
    expect(marking.undos).toBe(0);
  });
});

import { describe, expect, it } from 'vitest';
import type { Marks3d } from '../src/api/types';
import { placesAt } from '../src/lib/places';

/** A block of 100 × 60 × 40 mm, poured with +z up: gate on top, seam around at half height, air at one corner. */
const MARKS = {
  low_mm: [0, 0, 0], high_mm: [100, 60, 40], up: [0, 0, 2], level_from_mm: 0, level_to_mm: 40,
  channels: [{ use: 'gate', at_mm: [50, 30, 40], feet_mm: [], radius_start_mm: 3 }, { use: 'vent', at_mm: [2, 2, 40], feet_mm: [], radius_start_mm: 1 }],
  pockets: [{ top_mm: [98, 58, 40] }],
  seams_mm: [[[0, 0, 20], [100, 0, 20], [100, 60, 20], [0, 60, 20]]],
} as unknown as Marks3d;

describe('the place of a tapped defect', () => {
  it('is told by gate, foretold air and parting line before its level', () => {
    expect(placesAt(MARKS, [52, 30, 40], null)).toEqual(['at the gate', 'highest places', 'against the mould']);
    expect(placesAt(MARKS, [97, 57, 40], null)[0]).toBe('where air was foretold');
    expect(placesAt(MARKS, [0, 30, 21], null)).toEqual(['along the parting line', 'against the mould']);
  });
  it('closes the parting line, and forgets it farther away', () => {
    expect(placesAt(MARKS, [0, 31, 20.5], null)).toContain('along the parting line');
    expect(placesAt(MARKS, [0, 30, 26], null)).toEqual(['against the mould']);
  });
  it('is told by thickness and level', () => {
    expect(placesAt(MARKS, [20, 60, 3], 4)).toEqual(['thin walls', 'lowest places', 'against the mould']);
    expect(placesAt(MARKS, [20, 60, 30], 60)).toEqual(['thick sections', 'against the mould']);
  });
});

import { describe, expect, it } from 'vitest';
import { clockWords, offsetOf, secondsLeft, warningOf } from '../src/lib/clock';
import { CIVIDIS, colourAt, tableOf, VIRIDIS } from '../src/lib/colours';
import { saidOnce } from '../src/lib/plan_words';
import { directionWords, durationWords, figure, grams, moreOrLess } from '../src/lib/format';

describe('words for quantities', () => {
  it('says minutes as one speaks of them', () => {
    expect([0.5, 45, 130, 1450, 4320].map(durationWords)).toEqual(['0.5 min', '45 min', '2 h 10 min', '24 h 10 min', '3 days']);
    expect(durationWords(null)).toBe('not known');
    expect([12.4, -1450, 0.3, null].map(moreOrLess)).toEqual(['12 more', '1,450 less', 'the same', 'not known']);
  });
  it('says figures to about three places', () => {
    expect([0, 0.0424, 1.5, 19.44, 271.3, 1450].map(figure)).toEqual(['0', '0.042', '1.5', '19.4', '271', '1,450']);
  });
  it('says grams as the scale shows them', () => {
    expect(grams(104, 0.1)).toBe('104.0 g');
    expect(grams(5.456, 0.01)).toBe('5.46 g');
    expect(grams(5.456, 1)).toBe('5 g');
  });
  it('says an axis by its name', () => {
    expect(directionWords([0, 0, -1])).toBe('−z');
    expect(directionWords([0.6, 0, 0.8])).toBe('0.60, 0.00, 0.80');
  });
});

describe('findings', () => {
  it('are said once for all the parts that they are said of', () => {
    const one = { severity: 'info', code: 'a', what: 'w', remedy: 'r', where: 'ring' } as const;
    const said = saidOnce([one, { ...one, where: 'star' }, one, { ...one, what: 'v', where: null }]);
    expect(said.map(({ what, where }) => [what, where])).toEqual([['w', 'ring; star'], ['v', null]]);
  });
});

describe('clocks of the server', () => {
  it('count by the server, however wrong the device is', () => {
    const offset = offsetOf('2027-03-01T10:00:00Z', 5000, 5200);
    expect(secondsLeft('2027-03-01T10:01:00Z', 5100, offset)).toBeCloseTo(60);
    expect(secondsLeft('2027-03-01T10:01:00Z', 95100, offset)).toBeCloseTo(-30);
  });
  it('are read from afar', () => {
    expect([245, 3729, 0, -12].map(clockWords)).toEqual(['4:05', '1:02:09', '0:00', '−0:12']);
  });
  it('warn in the last quarter, or the last five minutes', () => {
    expect([600, 149, 0].map((left) => warningOf(left, 600))).toEqual(['calm', 'soon', 'over']);
    expect(warningOf(301, 36000)).toBe('calm');
  });
});

describe('colour maps', () => {
  it('begin and end as published', () => {
    expect(colourAt(VIRIDIS, 0)).toEqual([68, 1, 84]);
    expect(colourAt(VIRIDIS, 1)).toEqual([253, 231, 37]);
    expect(colourAt(CIVIDIS, 0)).toEqual([0, 34, 78]);
  });
  it('grow lighter all the way', () => {
    for (const map of [VIRIDIS, CIVIDIS]) {
      const table = tableOf(map, 64);
      const light = Array.from({ length: 64 }, (_, k) => 0.2126 * table[4 * k] + 0.7152 * table[4 * k + 1] + 0.0722 * table[4 * k + 2]);
      for (let k = 1; k < 64; k += 1) expect(light[k]).toBeGreaterThan(light[k - 1] - 0.5);
    }
  });
});

import { describe, expect, it } from 'vitest';
import type { Schedule, Task } from '../src/api/types';
import { after, before, daysOf, idleWords, lengthWords, linesOf, machinesOf, nearest, rowsOf, stepped, thereOn } from '../src/lib/order';

const at = (hour: number) => new Date(2027, 2, 1, hour).toISOString();
const task = (id: string, from: number, to: number, more: Partial<Task> = {}): Task => ({
  id, name: id, part: 'ring', doing: 'work', hands: false, watched: false, start: at(from), end: at(to), minutes: 60 * (to - from),
  low_min: null, high_min: null, after: [], at_once: null, machines: [], lane: 'prints', good_copies: 0, text: '', ...more,
});
const start = task('start', 9, 10, { hands: true });
const run = task('run', 10, 15, { at_once: 'start', low_min: 290, high_min: 330 });
const off = task('off', 20, 21, { after: ['run'], hands: true });
const pour = task('pour', 12, 13, { part: 'star', lane: 'casting', hands: true, machines: ['pressure pot'] });
const TASKS = [start, run, pour, off];
const schedule = {
  tasks: TASKS, start: at(9), all_done_at: at(30), holds: [{ machine: 'printer', first: 'start', last: 'off' }],
  hours: { week: { monday: ['09:00-12:30', '13:00-17:00'] }, days_off: ['2027-03-08'], time_zone: null },
} as unknown as Schedule;
const byId = new Map(TASKS.map((one) => [one.id, one]));

describe('the rows of the chart', () => {
  it('go by part and what belongs together in it', () => {
    expect(rowsOf(schedule, 'parts').map((row) => [row.group, row.words, row.lines.flat().map((one) => one.id)])).toEqual([
      ['ring', 'prints', ['start', 'run', 'off']], ['star', 'casting', ['pour']],
    ]);
  });
  it('go by hands and machines, a printer being taken until its print is off', () => {
    expect(machinesOf(schedule).get('run')).toEqual(['printer']);
    expect(rowsOf(schedule, 'hands').map((row) => [row.words, row.lines.flat().map((one) => one.id)])).toEqual([
      ['hands', ['start', 'pour', 'off']], ['printer', ['start', 'run', 'off']], ['pressure pot', ['pour']],
    ]);
  });
  it('share out over lines what goes on at once, each task on one', () => {
    const lines = linesOf([task('a', 9, 12), task('b', 10, 11), task('c', 12, 13)]);
    expect(lines.map((line) => line.map((one) => one.id))).toEqual([['a', 'c'], ['b']]);
  });
});

describe('the keys', () => {
  const rows = rowsOf(schedule, 'parts');
  it('lead along a line and stop at its ends', () => {
    expect(stepped(rows, { row: 0, line: 0, at: 0 }, 'ArrowRight')).toEqual({ row: 0, line: 0, at: 1 });
    expect(stepped(rows, { row: 0, line: 0, at: 0 }, 'ArrowLeft')).toBeNull();
    expect(stepped(rows, { row: 0, line: 0, at: 0 }, 'End')).toEqual({ row: 0, line: 0, at: 2 });
    expect(stepped(rows, { row: 0, line: 0, at: 0 }, 'x')).toBeNull();
  });
  it('lead to what lies nearest in time in the next line', () => {
    expect(stepped(rows, { row: 0, line: 0, at: 2 }, 'ArrowDown')).toEqual({ row: 1, line: 0, at: 0 });
    expect(stepped(rows, { row: 1, line: 0, at: 0 }, 'ArrowUp')).toEqual({ row: 0, line: 0, at: 1 });
    expect(nearest(rows[0].lines[0], new Date(2027, 2, 1, 19).getTime())).toBe(2);
  });
});

describe('a task', () => {
  it('tells what it waits for, what waits for it, and how long all was ready', () => {
    expect(before(off, byId)).toEqual([run]);
    expect(before(run, byId)).toEqual([start]);
    expect(after(run, TASKS)).toEqual([off]);
    expect(idleWords(off, byId)).toContain('5 h earlier');
    expect(idleWords(run, byId)).toBe('It begins as soon as that is over.');
    expect(idleWords(start, byId)).toBe('');
  });
  it('tells its length, who is at it, and how sure that is', () => {
    expect(lengthWords(run)).toBe('5 h by itself, between 4 h 50 min and 5 h 30 min');
    expect(lengthWords(start)).toBe('60 min of your hands');
    expect(lengthWords(task('w', 9, 10, { watched: true }))).toBe('60 min by itself while somebody is there');
  });
});

describe('days', () => {
  it('run from the first to past the last end', () => {
    expect(daysOf(schedule).map((day) => day.getDate())).toEqual([1, 2, 3]);
  });
  it('tell when somebody is there', () => {
    expect(thereOn(new Date(2027, 2, 1), schedule.hours)).toEqual([[9, 12.5], [13, 17]]);
    expect(thereOn(new Date(2027, 2, 2), schedule.hours)).toEqual([]);
    expect(thereOn(new Date(2027, 2, 8), schedule.hours)).toEqual([]);
    expect(thereOn(new Date(2027, 2, 8), null)).toEqual([[0, 24]]);
  });
});

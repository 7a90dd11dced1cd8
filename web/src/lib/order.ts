/** The order of work as rows of bars: which task lies where, what it waits for, and where the keys lead. */
import type { Schedule, Task } from '../api/types';
import { dayWords, durationWords, hourWords } from './format';

/** A row of the chart. `lines`: its tasks, shared out so that no two of a line lie over one another. */
export interface Row {
  key: string;
  group: string;
  words: string;
  lines: Task[][];
}
export type RowsBy = 'parts' | 'hands';
export const HANDS = 'hands';
const DAY_NAMES = ['sunday', 'monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday'];

export const ms = (when: string): number => new Date(when).getTime();

/** The machines that each task takes or keeps taken: a printer from the start of a print until it is off. */
export function machinesOf(schedule: Schedule): Map<string, string[]> {
  const found = new Map(schedule.tasks.map((task) => [task.id, [...task.machines]]));
  for (const hold of schedule.holds) {
    const last = schedule.tasks.find((task) => task.id === hold.last);
    const between = schedule.tasks.filter((task) => last && follows(last, task.id) && hold.first && follows(task, hold.first));
    for (const id of [hold.first, hold.last, ...between.map((task) => task.id)]) {
      if (id && !found.get(id)?.includes(hold.machine)) found.get(id)?.push(hold.machine);
    }
  }
  return found;
}

const follows = (task: Task, id: string): boolean => task.at_once === id || task.after.includes(id);

/** Rows by part and what belongs together in it, or by the hands and machines that the work takes. */
export function rowsOf(schedule: Schedule, by: RowsBy): Row[] {
  const { tasks } = schedule;
  const machines = machinesOf(schedule);
  const found = new Map<string, { group: string; words: string; tasks: Task[] }>();
  const put = (key: string, group: string, words: string, task: Task) => {
    const row = found.get(key) ?? { group, words, tasks: [] };
    row.tasks.push(task);
    found.set(key, row);
  };
  if (by === 'hands') found.set(HANDS, { group: '', words: HANDS, tasks: [] });
  for (const task of tasks) {
    if (by === 'parts') put(`${task.part}/${task.lane}`, task.part || 'the job', task.lane || 'work', task);
    else {
      if (task.hands) put(HANDS, '', HANDS, task);
      for (const machine of machines.get(task.id) ?? []) put(`on ${machine}`, '', machine, task);
    }
  }
  const rows = [...found].map(([key, { group, words, tasks: own }]) => ({ key, group, words, lines: linesOf(own) }));
  if (by === 'hands') return rows.filter((row) => row.lines.length);
  const order = [...new Set(rows.map((row) => row.group))];
  return order.flatMap((group) => rows.filter((row) => row.group === group));
}

/** Tasks shared out over as few lines as keep them apart. */
export function linesOf(tasks: readonly Task[]): Task[][] {
  const lines: Task[][] = [];
  for (const task of [...tasks].sort((one, other) => ms(one.start) - ms(other.start))) {
    const free = lines.find((line) => ms(line[line.length - 1].end) <= ms(task.start));
    if (free) free.push(task);
    else lines.push([task]);
  }
  return lines;
}

export interface Spot { row: number; line: number; at: number }

/** Where an arrow key leads from a bar: along its line, or to what lies nearest in time in the line above or below. */
export function stepped(rows: readonly Row[], from: Spot, key: string): Spot | null {
  const line = rows[from.row].lines[from.line];
  const along: Record<string, number> = { ArrowLeft: from.at - 1, ArrowRight: from.at + 1, Home: 0, End: line.length - 1 };
  if (key in along) return along[key] >= 0 && along[key] < line.length ? { ...from, at: along[key] } : null;
  const down = { ArrowUp: -1, ArrowDown: 1 }[key];
  if (!down) return null;
  const flat = rows.flatMap((row, n) => row.lines.map((tasks, k) => ({ row: n, line: k, tasks })));
  const next = flat[flat.findIndex((one) => one.row === from.row && one.line === from.line) + down];
  return next ? { row: next.row, line: next.line, at: nearest(next.tasks, middle(line[from.at])) } : null;
}

const middle = (task: Task): number => (ms(task.start) + ms(task.end)) / 2;

/** The task of a line that lies nearest to a moment. */
export function nearest(tasks: readonly Task[], at_ms: number): number {
  const off = tasks.map((task) => Math.max(ms(task.start) - at_ms, at_ms - ms(task.end), 0));
  return off.indexOf(Math.min(...off));
}

/** Midnight of every day from the start to the day after the last, by the clock of this device. */
export function daysOf(schedule: Schedule): Date[] {
  const first = new Date(schedule.start);
  const last = Math.max(ms(schedule.all_done_at), ...schedule.tasks.map((task) => ms(task.end)));
  const days = [new Date(first.getFullYear(), first.getMonth(), first.getDate())];
  while (days[days.length - 1].getTime() <= last) {
    const day = days[days.length - 1];
    days.push(new Date(day.getFullYear(), day.getMonth(), day.getDate() + 1));
  }
  return days;
}

/** When somebody is there on that day, as hours from its midnight. */
export function thereOn(day: Date, hours: Schedule['hours']): [number, number][] {
  if (!hours) return [[0, 24]];
  const said = `${day.getFullYear()}-${String(day.getMonth() + 1).padStart(2, '0')}-${String(day.getDate()).padStart(2, '0')}`;
  if (hours.days_off.includes(said)) return [];
  const week = hours.week as Record<string, string[]>;
  return (week[DAY_NAMES[day.getDay()]] ?? []).map((words) => words.split('-').map(hourOf) as [number, number]);
}

function hourOf(words: string): number {
  const [hour, minute] = words.split(':').map(Number);
  return hour + minute / 60;
}

/** What a task waits for: all that must have ended before it. */
export function before(task: Task, tasks: ReadonlyMap<string, Task>): Task[] {
  return [...(task.at_once ? [task.at_once] : []), ...task.after].flatMap((id) => tasks.get(id) ?? []);
}

export function after(task: Task, tasks: readonly Task[]): Task[] {
  return tasks.filter((one) => follows(one, task.id));
}

export function whenWords(start: string, end: string): string {
  const same = dayWords(start) === dayWords(end);
  return `${dayWords(start)} ${hourWords(start)} to ${same ? '' : `${dayWords(end)} `}${hourWords(end)}`;
}

/** Who must be there, and for how long it goes. */
export function lengthWords(task: Task): string {
  const low = task.low_min ?? task.minutes;
  const high = task.high_min ?? task.minutes;
  const spread = high - low >= 1 ? `, between ${durationWords(low)} and ${durationWords(high)}` : '';
  const who = task.hands ? 'of your hands' : task.watched ? 'by itself while somebody is there' : 'by itself';
  return `${durationWords(task.minutes)} ${who}${spread}`;
}

/** How long before its start all that it waits for was over. */
export function idleWords(task: Task, tasks: ReadonlyMap<string, Task>): string {
  const waited = before(task, tasks);
  if (!waited.length) return '';
  const idle_min = (ms(task.start) - Math.max(...waited.map((one) => ms(one.end)))) / 60_000;
  if (idle_min < 1) return 'It begins as soon as that is over.';
  return `All that was over ${durationWords(idle_min)} earlier: from then on it waited for hands, hours or a machine.`;
}

/** The whole of a task in one line, for those who hear it. */
export function taskWords(task: Task): string {
  return `${task.name}${task.part ? `, ${task.part}` : ''}: ${whenWords(task.start, task.end)}`;
}

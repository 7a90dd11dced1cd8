/** Words for quantities, as the command line says them. */

/** Minutes in words: `45 min`, `2 h 10 min`, `3 days 4 h`. */
export function durationWords(minutes: number | null | undefined): string {
  if (minutes === null || minutes === undefined || !Number.isFinite(minutes)) return 'not known';
  const whole = Math.round(minutes);
  if (minutes < 10 && minutes !== whole) return `${minutes.toFixed(1)} min`;
  if (whole < 120) return `${whole} min`;
  if (whole < 48 * 60) {
    const rest = whole % 60;
    return rest ? `${Math.floor(whole / 60)} h ${rest} min` : `${whole / 60} h`;
  }
  const hours = Math.round(whole / 60);
  const rest = hours % 24;
  return rest ? `${Math.floor(hours / 24)} days ${rest} h` : `${hours / 24} days`;
}

export function secondsWords(seconds: number): string {
  return seconds < 100 ? `${Math.round(seconds)} s` : durationWords(seconds / 60);
}

/** A number with about three figures: `0.042`, `19.4`, `271`, `1,450`. */
export function figure(value: number): string {
  if (value < 0) return `−${figure(-value)}`;
  const size = Math.abs(value);
  if (size === 0) return '0';
  if (size >= 1000) return Math.round(value).toLocaleString('en-GB');
  if (size >= 100) return value.toFixed(0);
  if (size >= 10) return trimmed(value.toFixed(1));
  if (size >= 1) return trimmed(value.toFixed(2));
  return Number(value.toPrecision(2)).toString();
}

function trimmed(text: string): string {
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

/** Grams as a scale shows them. */
export function grams(value: number, step_g = 0.1): string {
  const places = Math.max(0, Math.ceil(-Math.log10(step_g) - 1e-9));
  return `${value.toFixed(places)} g`;
}

export function percent(share: number): string {
  return `${Math.round(100 * share)} %`;
}

/** How much more, `12 more` or `8 less`, as the schedule tells of money. */
export function moreOrLess(value: number | null): string {
  if (value === null) return 'not known';
  if (Math.abs(value) < 0.5) return 'the same';
  return `${figure(Math.round(Math.abs(value)))} ${value > 0 ? 'more' : 'less'}`;
}

/** A direction as an axis where it is one: `up +z`, else its three parts. */
export function directionWords(direction: readonly number[]): string {
  const names = ['x', 'y', 'z'];
  for (let axis = 0; axis < 3; axis += 1) {
    if (Math.abs(direction[axis]) > 0.9995) return `${direction[axis] > 0 ? '+' : '−'}${names[axis]}`;
  }
  return direction.map((part) => part.toFixed(2).replace('-', '−')).join(', ');
}

export function placeWords(place: readonly number[]): string {
  return `${place.map((part) => part.toFixed(1).replace('-', '−')).join(', ')} mm`;
}

const DAY = new Intl.DateTimeFormat('en-GB', { weekday: 'short', day: 'numeric', month: 'short' });
const HOUR = new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit' });

export function dayWords(when: string | Date): string {
  return DAY.format(new Date(when));
}

export function hourWords(when: string | Date): string {
  return HOUR.format(new Date(when));
}

/** `1 copy`, `12 copies`. */
export function counted(count: number, one: string, many: string): string {
  return `${count} ${count === 1 ? one : many}`;
}

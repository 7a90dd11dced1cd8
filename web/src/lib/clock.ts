/** Clocks that are the server's: only its absolute times count, and how far this device's clock is off. */

export interface Offset {
  /** Server time minus this device's, ms. */
  readonly ms: number;
}

/** The offset from one answer: the server's time is taken to be that of the middle of the journey. */
export function offsetOf(serverTime: string, sentAt_ms: number, gotAt_ms: number): Offset {
  return { ms: new Date(serverTime).getTime() - (sentAt_ms + gotAt_ms) / 2 };
}

/** Seconds left until `end`, negative when it is over. */
export function secondsLeft(end: string, now_ms: number, offset: Offset): number {
  return (new Date(end).getTime() - (now_ms + offset.ms)) / 1000;
}

/** `4:05`, `1:02:09`, `−0:12` once over. */
export function clockWords(seconds: number): string {
  const over = seconds < 0;
  const whole = over ? Math.floor(-seconds) : Math.ceil(seconds);
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor((whole % 3600) / 60);
  const rest = String(whole % 60).padStart(2, '0');
  const text = hours ? `${hours}:${String(minutes).padStart(2, '0')}:${rest}` : `${minutes}:${rest}`;
  return over && whole > 0 ? `−${text}` : text;
}

export type Warning = 'calm' | 'soon' | 'over';

/** Soon: the last quarter, or the last five minutes where that is less. */
export function warningOf(left_s: number, whole_s: number): Warning {
  if (left_s <= 0) return 'over';
  return left_s <= Math.min(whole_s / 4, 300) ? 'soon' : 'calm';
}

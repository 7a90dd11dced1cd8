/** What the pointer does on the part: pick, stroke while painting, drag what can be moved. */

export interface Picked {
  /** The thing that was hit: gate-1, vent-2, pocket-1… */
  key: string | null;
  /** The face of the part there. */
  face: number | null;
  at_mm: [number, number, number];
}
export interface Told {
  picked: (what: Picked) => void;
  /** A stroke over the part while painting. */
  stroked: (what: Picked) => void;
  /** An opening dragged over the part; `ended`: let go there. */
  moved: (key: string, at_mm: readonly number[], ended: boolean) => void;
}
const CLICK_PX = 5;

export class Hand {
  painting = false;
  /** What a drag moves, by its key. */
  loose: ReadonlySet<string> = new Set();
  private pressed: { x: number; y: number } | null = null;
  private dragged: { key: string; at_mm: [number, number, number] | null } | null = null;

  constructor(
    private readonly canvas: HTMLCanvasElement,
    private readonly pick: (event: PointerEvent) => Picked | null,
    private readonly told: Told,
    /** Whether a drag may turn the part. */
    private readonly turns: (may: boolean) => void,
  ) {
    canvas.addEventListener('pointerdown', (event) => this.press(event));
    canvas.addEventListener('pointermove', (event) => this.move(event));
    canvas.addEventListener('pointerup', (event) => this.release(event));
    canvas.addEventListener('pointercancel', () => this.letGo());
  }

  private press(event: PointerEvent): void {
    this.pressed = { x: event.clientX, y: event.clientY };
    if (this.painting) {
      this.canvas.setPointerCapture(event.pointerId);
      this.stroke(event);
      return;
    }
    const key = this.loose.size ? this.pick(event)?.key : null;
    if (!key || !this.loose.has(key)) return;
    this.dragged = { key, at_mm: null };
    this.turns(false);
    this.canvas.setPointerCapture(event.pointerId);
  }

  private move(event: PointerEvent): void {
    if (!this.pressed) return;
    if (this.painting) this.stroke(event);
    else if (this.dragged && !this.isClick(event)) {
      const what = this.pick(event);
      if (what?.face == null) return;
      this.dragged.at_mm = what.at_mm;
      this.told.moved(this.dragged.key, what.at_mm, false);
    }
  }

  private stroke(event: PointerEvent): void {
    const what = this.pick(event);
    if (what && what.face !== null) this.told.stroked(what);
  }

  private release(event: PointerEvent): void {
    const click = this.pressed !== null && this.isClick(event);
    const dragged = this.dragged;
    this.letGo();
    if (this.painting) return;
    if (dragged?.at_mm) this.told.moved(dragged.key, dragged.at_mm, true);
    else if (click) {
      const what = this.pick(event);
      if (what) this.told.picked(what);
    }
  }

  private letGo(): void {
    this.pressed = null;
    if (this.dragged) this.turns(!this.painting);
    this.dragged = null;
  }

  private isClick(event: PointerEvent): boolean {
    return this.pressed !== null && Math.hypot(event.clientX - this.pressed.x, event.clientY - this.pressed.y) <= CLICK_PX;
  }
}

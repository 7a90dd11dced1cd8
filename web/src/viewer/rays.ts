/** What lies under the pointer, and how thick the part is there. */
import * as THREE from 'three';
import type { Vector } from '../api/types';
import type { Picked } from './hand';

export interface Pickable {
  object: THREE.Object3D;
  picked(caster: THREE.Raycaster): THREE.Intersection | undefined;
}
const BEFORE_PART_RATIO = 0.02;
const INTO_RATIO = 1e-4;

export class Rays {
  private readonly caster = new THREE.Raycaster();

  constructor(
    private readonly canvas: HTMLCanvasElement,
    private readonly camera: THREE.PerspectiveCamera,
  ) {}

  /** The thing and the face at the pointer; `kept` leaves out what a cut has taken away. */
  pick(event: PointerEvent, part: THREE.Object3D | null, things: readonly Pickable[], kept: (hit: THREE.Intersection) => boolean, size_mm: number): Picked | null {
    const frame = this.canvas.getBoundingClientRect();
    const x = ((event.clientX - frame.left) / frame.width) * 2 - 1;
    const y = 1 - ((event.clientY - frame.top) / frame.height) * 2;
    this.caster.setFromCamera(new THREE.Vector2(x, y), this.camera);
    const onPart = part?.visible ? this.caster.intersectObject(part, false).find(kept) : undefined;
    const thing = things
      .map((one) => (one.object.visible ? one.picked(this.caster) : undefined))
      .filter((one) => one !== undefined)
      .sort((a, b) => a.distance - b.distance)[0];
    const seen = thing && (!onPart || thing.distance <= onPart.distance + BEFORE_PART_RATIO * size_mm) ? thing : undefined;
    if (!onPart && !seen) return null;
    return {
      key: (seen?.object.userData.key as string | undefined) ?? null,
      face: onPart?.faceIndex ?? null,
      at_mm: (onPart ?? seen)!.point.toArray(),
    };
  }

  /** How thick the part is below a place that is seen on it, straight through from the face; null where nothing lies opposite. */
  thickness_mm(part: THREE.Object3D, at_mm: Vector, size_mm: number): number | null {
    const towards = new THREE.Vector3(at_mm[0], at_mm[1], at_mm[2]).sub(this.camera.position).normalize();
    this.caster.set(this.camera.position, towards);
    const hit = this.caster.intersectObject(part, false)[0];
    if (!hit?.face) return null;
    const inwards = hit.face.normal.clone().negate();
    this.caster.set(hit.point.clone().addScaledVector(inwards, INTO_RATIO * size_mm), inwards);
    return this.caster.intersectObject(part, false)[0]?.distance ?? null;
  }
}

/** Gate and vents at the places that are tried, and the air that then stays. */
import * as THREE from 'three';
import type { FillTry, Vector } from '../api/types';
import { THING_COLOURS } from '../lib/colours';
import type { Opening } from '../lib/openings';
import { ballOf, clearOut, radiusOf, ringOf } from './shapes';

export type Air = Pick<FillTry['pockets'][number], 'volume_mm3'> & { top_mm: Vector };
const BALL_RATIO = 0.016;
const RING_RATIO = 0.025;

export class Tried {
  readonly object = new THREE.Group();

  show(openings: readonly Opening[], pockets: readonly Air[], size_mm: number): void {
    clearOut(this.object);
    for (const one of openings) {
      const colour = one.key.startsWith('gate') ? THING_COLOURS.gate : THING_COLOURS.vent;
      this.object.add(ballOf(one.key, one.at_mm, size_mm * BALL_RATIO, colour));
      this.object.add(ringOf(one.key, one.at_mm, size_mm * RING_RATIO, colour));
    }
    pockets.forEach((one, k) => {
      this.object.add(ballOf(`pocket-${k + 1}`, one.top_mm, radiusOf(one.volume_mm3), THING_COLOURS.pocket));
      this.object.add(ringOf(`pocket-${k + 1}`, one.top_mm, size_mm * RING_RATIO, THING_COLOURS.pocket));
    });
  }

  picked(caster: THREE.Raycaster): THREE.Intersection | undefined {
    return caster.intersectObjects(this.object.children, false)[0];
  }

  dispose(): void {
    clearOut(this.object);
    this.object.removeFromParent();
  }
}

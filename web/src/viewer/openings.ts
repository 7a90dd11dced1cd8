/** Seam, gate, vents and pockets of air as things that can be picked. */
import * as THREE from 'three';
import { Line2 } from 'three/examples/jsm/lines/Line2.js';
import { LineGeometry } from 'three/examples/jsm/lines/LineGeometry.js';
import { LineMaterial } from 'three/examples/jsm/lines/LineMaterial.js';
import type { Marks3d } from '../api/types';
import { THING_COLOURS as THINGS } from '../lib/colours';
import { ballOf, clearOut, radiusOf, ringOf } from './shapes';

const CHOSEN = '#ffffff';
const LEAST_SHOWN_RATIO = 0.012;
const MOVABLE: ReadonlySet<string> = new Set(['gate', 'vent', 'pocket']);
const RING_RATIO = 0.025;

export class Openings {
  readonly object = new THREE.Group();
  private readonly lines: LineMaterial[] = [];
  private kinds: ReadonlySet<string> = new Set();
  private back = false;

  constructor(marks: Marks3d, size_mm: number) {
    for (const line of marks.seams_mm) this.seam(line as unknown as number[][]);
    for (const channel of marks.channels) {
      const colour = channel.use === 'gate' ? THINGS.gate : THINGS.vent;
      const path = channel.path_mm.map((point) => new THREE.Vector3(...(point as [number, number, number])));
      this.pipe(channel.key, path, channel.radius_start_mm, channel.radius_end_mm, colour);
      const near = Math.max(channel.radius_start_mm * 1.15, size_mm * LEAST_SHOWN_RATIO);
      this.object.add(ballOf(channel.key, channel.at_mm, near, colour));
    }
    for (const pocket of marks.pockets) {
      this.object.add(ballOf(pocket.key, pocket.top_mm, radiusOf(pocket.vented_mm3), THINGS.pocket));
      this.object.add(ringOf(pocket.key, pocket.top_mm, size_mm * RING_RATIO, THINGS.pocket));
    }
    for (const region of marks.undercuts) {
      this.object.add(ballOf(region.key, region.centre_mm, size_mm * LEAST_SHOWN_RATIO * 1.2, THINGS.undercut));
    }
  }

  private seam(points: number[][]): void {
    if (points.length < 2) return;
    const geometry = new LineGeometry();
    geometry.setPositions([...points, points[0]].flat());
    const material = new LineMaterial({ color: new THREE.Color(THINGS.seam).getHex(), linewidth: 3 });
    this.lines.push(material);
    const line = new Line2(geometry, material);
    line.userData.kind = 'seam';
    this.object.add(line);
  }

  private pipe(key: string, path: THREE.Vector3[], from: number, to: number, colour: string): void {
    const whole = path.slice(1).reduce((sum, point, k) => sum + point.distanceTo(path[k]), 0) || 1;
    let gone = 0;
    for (let k = 0; k + 1 < path.length; k += 1) {
      const length = path[k].distanceTo(path[k + 1]);
      if (length < 1e-6) continue;
      const radius = (share: number) => from + (to - from) * share;
      const geometry = new THREE.CylinderGeometry(radius((gone + length) / whole), radius(gone / whole), length, 20, 1, true);
      const material = new THREE.MeshLambertMaterial({ color: colour, transparent: true, opacity: 0.7, side: THREE.DoubleSide });
      const pipe = new THREE.Mesh(geometry, material);
      pipe.position.copy(path[k]).add(path[k + 1]).multiplyScalar(0.5);
      pipe.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), path[k + 1].clone().sub(path[k]).normalize());
      pipe.userData = { key, kind: key.split('-')[0], colour };
      this.object.add(pipe);
      gone += length;
    }
  }

  show(kinds: ReadonlySet<string>): void {
    this.kinds = kinds;
    for (const one of this.object.children) one.visible = kinds.has(one.userData.kind as string) && !(this.back && MOVABLE.has(one.userData.kind as string));
  }

  /** Gates, vents and pockets make room for those that are tried. */
  stepBack(back: boolean): void {
    this.back = back;
    this.show(this.kinds);
  }

  choose(key: string | null): void {
    for (const one of this.object.children) {
      if (!(one instanceof THREE.Mesh) || one instanceof Line2) continue;
      const material = one.material as THREE.MeshLambertMaterial;
      const chosen = one.userData.key === key;
      material.emissive.set(chosen ? CHOSEN : '#000000');
      material.emissiveIntensity = chosen ? 0.35 : 0;
    }
  }

  picked(caster: THREE.Raycaster): THREE.Intersection | undefined {
    const balls = this.object.children.filter((one) => one.visible && one.userData.key);
    return caster.intersectObjects(balls, false)[0];
  }

  dispose(): void {
    clearOut(this.object);
    this.object.removeFromParent();
  }
}

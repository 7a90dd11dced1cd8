/** Balls and rings that mark a place on the part and can be picked by their key. */
import * as THREE from 'three';

export function ballOf(key: string, at: readonly number[], radius: number, colour: string): THREE.Mesh {
  const ball = new THREE.Mesh(new THREE.SphereGeometry(radius, 20, 14), new THREE.MeshLambertMaterial({ color: colour }));
  ball.position.set(at[0], at[1], at[2]);
  ball.userData = { key, kind: key.split('-')[0], colour };
  return ball;
}

/** A thin ring that faces the eye, seen through the part: it says where, not how large. */
export function ringOf(key: string, at: readonly number[], radius: number, colour: string): THREE.Mesh {
  const material = new THREE.MeshLambertMaterial({ color: colour, side: THREE.DoubleSide, depthTest: false, transparent: true });
  const ring = new THREE.Mesh(new THREE.RingGeometry(radius * 0.75, radius, 40), material);
  ring.renderOrder = 1;
  ring.position.set(at[0], at[1], at[2]);
  ring.userData = { key, kind: key.split('-')[0], colour };
  ring.onBeforeRender = (_renderer, _scene, camera) => {
    camera.getWorldQuaternion(ring.quaternion);
    ring.updateMatrixWorld();
  };
  return ring;
}

/** Radius of a ball that holds so much. */
export function radiusOf(volume_mm3: number): number {
  return Math.cbrt((3 * volume_mm3) / (4 * Math.PI));
}

export function clearOut(group: THREE.Group): void {
  group.traverse((one) => {
    if (one instanceof THREE.Mesh) {
      one.geometry.dispose();
      (one.material as THREE.Material).dispose();
    }
  });
  group.clear();
}

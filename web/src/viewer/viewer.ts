/** The scene: one part, what is drawn on it, and its mould. It owns the view only; the plan is the server's. */
import * as THREE from 'three';
import { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js';
import { acceleratedRaycast, MeshBVH } from 'three-mesh-bvh';
import type { Marks3d, ShownPieces, Vector } from '../api/types';
import { LEVEL_COLOURS, MARK_COLOURS, type Map as ColourMap } from '../lib/colours';
import type { SentMesh } from '../lib/mesh';
import type { Opening } from '../lib/openings';
import { Hand, type Picked, type Told } from './hand';
import { Openings } from './openings';
import { Rays } from './rays';
import { geometryOf, Paint, Surface, type SurfaceColours } from './surface';
import { Tried, type Air } from './tried';

export type { Picked, Told } from './hand';

const PIECES: Record<string, string> = {
  silicone: '#9cc5c9',
  tray: '#c9b08a',
  bedding: '#c2a27e',
  box: '#a9a196',
  master: '#d9d4c7',
  copy: '#e3ded2',
};
const COLOURS: SurfaceColours = {
  plain: '#cfd6d4',
  cut: '#b06a3b',
  ...LEVEL_COLOURS,
  marks: MARK_COLOURS,
};
const PIN_RATIO = 0.02;
/** The mould, moved apart, takes about so many times the room of its part. */
const ROOM_FOR_MOULD = 1.5, ROOM_AROUND = 1.06;
const FROM_A_CORNER: Vector = [0.7, -1, 0.6];
const AXES: Record<string, [number, number, number]> = { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] };

export class Viewer {
  private readonly renderer: THREE.WebGLRenderer;
  private readonly scene = new THREE.Scene();
  private readonly camera = new THREE.PerspectiveCamera(35, 1, 0.1, 10000);
  private readonly controls: OrbitControls;
  private readonly rays: Rays;
  private readonly watcher: ResizeObserver;
  private readonly world = new THREE.Group();
  private part: Surface | null = null;
  private openings: Openings | null = null;
  private readonly pieces = new Map<string, { surface: Surface; shift: THREE.Vector3 }>();
  private readonly box = new THREE.Box3(new THREE.Vector3(-1, -1, -1), new THREE.Vector3(1, 1, 1));
  private readonly plane = new THREE.Plane(new THREE.Vector3(-1, 0, 0), 0);
  private cutting = false;
  private asked = 0;
  private mouldShown = false;
  private readonly tried = new Tried();
  private readonly hand: Hand;

  constructor(
    private readonly host: HTMLElement,
    told: Told,
  ) {
    this.renderer = new THREE.WebGLRenderer({ antialias: true, alpha: true });
    this.renderer.localClippingEnabled = true;
    const canvas = this.renderer.domElement;
    canvas.setAttribute('aria-hidden', 'true');
    host.append(canvas);
    this.camera.up.set(0, 0, 1);
    this.rays = new Rays(canvas, this.camera);
    // Before the controls, so that a drag of an opening is known before they would turn the part.
    this.hand = new Hand(canvas, (event) => this.pick(event), told, (may) => (this.controls.enabled = may));
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.addEventListener('change', () => this.draw());
    this.world.add(this.tried.object);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0x8a8f86, 2.1), this.camera, this.world);
    const lamp = new THREE.DirectionalLight(0xffffff, 1.6);
    lamp.position.set(0.5, 0.8, 1);
    this.camera.add(lamp);
    this.watcher = new ResizeObserver(() => this.resize());
    this.watcher.observe(host);
    this.resize();
  }

  get size_mm(): number {
    return this.box.getSize(new THREE.Vector3()).length();
  }

  showPart(mesh: SentMesh): void {
    this.part?.dispose();
    const geometry = geometryOf(mesh);
    this.part = new Surface(geometry, COLOURS);
    this.part.object.raycast = acceleratedRaycast;
    geometry.boundsTree = new MeshBVH(geometry, { indirect: true });
    this.box.copy(geometry.boundingBox!);
    this.world.add(this.part.object);
    this.clip();
    this.look(FROM_A_CORNER);
  }

  showOpenings(marks: Marks3d): void {
    this.openings?.dispose();
    this.openings = new Openings(marks, this.size_mm);
    this.world.add(this.openings.object);
    this.look(FROM_A_CORNER);
  }

  /** Which of seam, gate, vent, pocket, undercut are seen. */
  showKinds(kinds: ReadonlySet<string>): void {
    this.openings?.show(kinds);
    this.draw();
  }

  /** Openings that can be dragged; the plan's own are shown until one is `moved`, then these with the air they leave. */
  showTried(openings: readonly Opening[], moved: boolean, pockets: readonly Air[]): void {
    this.hand.loose = new Set(openings.map((one) => one.key));
    this.tried.show(moved ? openings : [], moved ? pockets : [], this.size_mm);
    this.openings?.stepBack(moved && openings.length > 0);
    this.draw();
  }

  /** Mark one place. */
  pin(at_mm: Vector): void {
    this.tried.show([], [{ top_mm: at_mm, volume_mm3: (this.size_mm * PIN_RATIO) ** 3 }], this.size_mm);
    this.draw();
  }

  /** How thick the part is below a place on it, along the face there; null where nothing lies opposite. */
  thickness_mm(at_mm: Vector): number | null {
    return this.part ? this.rays.thickness_mm(this.part.object, at_mm, this.size_mm) : null;
  }

  choose(key: string | null): void {
    this.openings?.choose(key);
    this.draw();
  }

  colourPlain(): void {
    this.part?.paint(Paint.Plain);
    this.draw();
  }

  colourBy(values: ArrayLike<number>, map: ColourMap, low: number, high: number): void {
    this.part?.figures(values);
    this.part?.table(map, low, high);
    this.part?.paint(Paint.Table);
    this.draw();
  }

  colourMarks(marks: ArrayLike<number>): void {
    this.part?.figures(marks);
    this.part?.paint(Paint.Marks);
    this.draw();
  }

  colourLevel(wetAt_mm: ArrayLike<number>): void {
    this.part?.figures(wetAt_mm);
    this.part?.paint(Paint.Level);
    this.draw();
  }

  level(at_mm: number, never_mm: number): void {
    this.part?.level(at_mm, never_mm);
    this.draw();
  }

  showPiece(pieces: ShownPieces, key: string, mesh: SentMesh): void {
    const told = pieces.pieces.find((one) => one.key === key)!;
    this.pieces.get(key)?.surface.dispose();
    const plain = PIECES[told.role] ?? PIECES.box;
    const surface = new Surface(geometryOf(mesh), { ...COLOURS, plain, cut: plain });
    this.pieces.set(key, { surface, shift: new THREE.Vector3(...(told.shift_mm as [number, number, number])) });
    this.world.add(surface.object);
    this.clip();
    this.draw();
  }

  showPieces(keys: ReadonlySet<string>): void {
    for (const [key, piece] of this.pieces) piece.surface.object.visible = keys.has(key);
    this.draw();
  }

  /** 0: the mould is closed, 1: fully moved apart. */
  openMould(share: number): void {
    for (const { surface, shift } of this.pieces.values()) surface.object.position.copy(shift).multiplyScalar(share);
    this.draw();
  }

  showOnly(what: 'part' | 'mould'): void {
    const mould = what === 'mould' && this.pieces.size > 0;
    for (const { surface } of this.pieces.values()) surface.object.visible = mould;
    if (this.openings) this.openings.object.visible = !mould;
    this.tried.object.visible = !mould;
    if (mould !== this.mouldShown) {
      this.mouldShown = mould;
      this.look(mould ? [0.8, -1, 0.3] : FROM_A_CORNER);
    }
    this.draw();
  }

  showPartItself(shown: boolean, scale = 1): void {
    if (!this.part) return;
    this.part.object.visible = shown;
    this.part.object.scale.setScalar(scale);
    this.draw();
  }

  /** A cut across an axis at a share of the part's length, or none. */
  section(axis: string | null, share = 0.5, otherSide = false): void {
    this.cutting = axis !== null;
    if (axis) {
      const normal = new THREE.Vector3(...(AXES[axis] ?? AXES.x));
      const [low, high] = [this.box.min.dot(normal), this.box.max.dot(normal)];
      const margin = 0.35 * (high - low);
      this.plane.set(normal.clone().negate(), low - margin + (high - low + 2 * margin) * share);
      if (otherSide) this.plane.negate();
    }
    this.clip();
    this.draw();
  }

  /** From there all of a ball around the part is seen. */
  private farEnough(room: number): number {
    const half = THREE.MathUtils.degToRad(this.camera.fov / 2);
    return (room * 0.46 * this.size_mm) / Math.sin(half) / Math.min(1, this.camera.aspect);
  }

  /** From there, looking along `way`, the part fills the view with its gate and vents. */
  private filling(way: THREE.Vector3): number {
    const points = this.part?.object.geometry.getAttribute('position');
    if (!points) return this.farEnough(1);
    const tall = Math.tan(THREE.MathUtils.degToRad(this.camera.fov / 2));
    const right = new THREE.Vector3().crossVectors(this.camera.up, way).normalize();
    const up = new THREE.Vector3().crossVectors(way, right);
    const centre = this.box.getCenter(new THREE.Vector3());
    const point = new THREE.Vector3();
    const from = (): number => {
      point.sub(centre).multiplyScalar(ROOM_AROUND);
      return point.dot(way) + Math.max(Math.abs(point.dot(right)) / this.camera.aspect, Math.abs(point.dot(up))) / tall;
    };
    let distance = 0;
    for (let k = 0; k < points.count; k += 1) {
      point.fromBufferAttribute(points, k);
      distance = Math.max(distance, from());
    }
    for (const one of this.openings?.object.children ?? []) {
      const box = new THREE.Box3().setFromObject(one);
      for (const x of [box.min.x, box.max.x]) for (const y of [box.min.y, box.max.y]) for (const z of [box.min.z, box.max.z]) {
        point.set(x, y, z);
        distance = Math.max(distance, from());
      }
    }
    return distance;
  }

  /** Look at the part from a direction. */
  look(from: Vector): void {
    const centre = this.box.getCenter(new THREE.Vector3());
    const way = new THREE.Vector3(from[0], from[1], from[2]).normalize();
    if (Math.abs(way.z) > 0.999) way.set(0.02, -0.04, way.z).normalize();
    const distance = this.mouldShown ? this.farEnough(ROOM_FOR_MOULD) : this.filling(way);
    this.camera.position.copy(centre).addScaledVector(way, distance);
    this.camera.near = distance / 100;
    this.camera.far = distance * 20;
    this.camera.updateProjectionMatrix();
    this.controls.target.copy(centre);
    this.controls.update();
    this.draw();
  }

  turn(sideways_deg: number, upwards_deg: number): void {
    const offset = this.camera.position.clone().sub(this.controls.target);
    const flat = Math.atan2(offset.y, offset.x) + THREE.MathUtils.degToRad(sideways_deg);
    const rise = Math.asin(offset.z / offset.length()) + THREE.MathUtils.degToRad(upwards_deg);
    const held = Math.max(-1.55, Math.min(1.55, rise));
    const way = [Math.cos(held) * Math.cos(flat), Math.cos(held) * Math.sin(flat), Math.sin(held)];
    this.camera.position.copy(this.controls.target).addScaledVector(new THREE.Vector3(...way), offset.length());
    this.controls.update();
    this.draw();
  }

  nearer(ratio: number): void {
    const offset = this.camera.position.clone().sub(this.controls.target).multiplyScalar(ratio);
    this.camera.position.copy(this.controls.target).add(offset);
    this.controls.update();
    this.draw();
  }

  /** While painting, a drag strokes the part instead of turning it. */
  set paints(on: boolean) {
    this.hand.painting = on;
    this.controls.enabled = !on;
  }

  draw(): void {
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => {
      this.asked = 0;
      this.renderer.render(this.scene, this.camera);
    });
  }

  dispose(): void {
    cancelAnimationFrame(this.asked);
    this.watcher.disconnect();
    this.controls.dispose();
    this.part?.dispose();
    this.openings?.dispose();
    this.tried.dispose();
    for (const { surface } of this.pieces.values()) surface.dispose();
    this.renderer.dispose();
    this.renderer.domElement.remove();
  }

  clearPieces(): void {
    for (const { surface } of this.pieces.values()) surface.dispose();
    this.pieces.clear();
  }

  private clip(): void {
    const planes = this.cutting ? [this.plane] : [];
    if (this.part) this.part.clipping = planes;
    for (const { surface } of this.pieces.values()) surface.clipping = planes;
  }

  private resize(): void {
    const { clientWidth: wide, clientHeight: high } = this.host;
    if (!wide || !high) return;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.setSize(wide, high, false);
    this.camera.aspect = wide / high;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  private pick(event: PointerEvent): Picked | null {
    const kept = (hit: THREE.Intersection) => !this.cutting || this.plane.distanceToPoint(hit.point) >= 0;
    const things = this.openings ? [this.openings, this.tried] : [this.tried];
    return this.rays.pick(event, this.part?.object ?? null, things, kept, this.size_mm);
  }
}

/** A mesh as the server sends it: raw little-endian arrays on steps of four bytes. */

export interface SentMesh {
  readonly xyz_mm: Float32Array;
  readonly faces: Uint32Array;
  /** One figure a face, by name. */
  readonly attributes: ReadonlyMap<string, Float32Array>;
}

const MAGIC = 'FPME';
const VERSION = 1;
const NAME_BYTES = 32;

export function meshOf(buffer: ArrayBuffer): SentMesh {
  const view = new DataView(buffer);
  const letters = (at: number, count: number) => String.fromCharCode(...new Uint8Array(buffer, at, count)).replace(/\0+$/, '');
  if (buffer.byteLength < 20 || letters(0, 4) !== MAGIC || view.getUint32(4, true) !== VERSION) {
    throw new Error('the mesh is of another version: load the page again');
  }
  const [n, m, k] = [8, 12, 16].map((at) => view.getUint32(at, true));
  const xyzAt = 20 + NAME_BYTES * k;
  const facesAt = xyzAt + 12 * n;
  const figuresAt = facesAt + 12 * m;
  if (buffer.byteLength !== figuresAt + 4 * m * k) throw new Error('the mesh came cut short: load the page again');
  const attributes = new Map<string, Float32Array>();
  for (let i = 0; i < k; i += 1) {
    attributes.set(letters(20 + NAME_BYTES * i, NAME_BYTES), new Float32Array(buffer, figuresAt + 4 * m * i, m));
  }
  return { xyz_mm: new Float32Array(buffer, xyzAt, 3 * n), faces: new Uint32Array(buffer, facesAt, 3 * m), attributes };
}

/** Least and most of a figure, those that are no number left out. */
export function rangeOf(values: ArrayLike<number>): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (let k = 0; k < values.length; k += 1) {
    if (values[k] < low) low = values[k];
    if (values[k] > high) high = values[k];
  }
  return low <= high ? [low, high] : [0, 1];
}

/** Faces that share an edge, −1 where none: three a face. */
export function neighboursOf(faces: Uint32Array): Int32Array {
  const next = new Int32Array(faces.length).fill(-1);
  const open = new Map<number, number>();
  let most = 0;
  for (let k = 0; k < faces.length; k += 1) most = Math.max(most, faces[k]);
  for (let side = 0; side < faces.length; side += 1) {
    const face = Math.floor(side / 3);
    const [a, b] = [faces[side], faces[3 * face + ((side + 1) % 3)]];
    const key = Math.min(a, b) * (most + 1) + Math.max(a, b);
    const other = open.get(key);
    if (other === undefined) open.set(key, side);
    else {
      next[side] = Math.floor(other / 3);
      next[other] = face;
      open.delete(key);
    }
  }
  return next;
}

/** Outward unit normals, three numbers a face. */
export function normalsOf(mesh: Pick<SentMesh, 'xyz_mm' | 'faces'>): Float32Array {
  const { xyz_mm: p, faces } = mesh;
  const out = new Float32Array(faces.length);
  for (let f = 0; f < faces.length; f += 3) {
    const [a, b, c] = [3 * faces[f], 3 * faces[f + 1], 3 * faces[f + 2]];
    const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const n = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const size = Math.hypot(n[0], n[1], n[2]) || 1;
    out.set([n[0] / size, n[1] / size, n[2] / size], f);
  }
  return out;
}

/**
 * Corner normals, nine numbers a face: the mean of the faces around a corner that turn from this one by no more
 * than `crease_deg`, so that round faces look round and edges stay sharp.
 */
export function cornerNormalsOf(mesh: Pick<SentMesh, 'xyz_mm' | 'faces'>, crease_deg = 35): Float32Array {
  const { faces } = mesh;
  const flat = normalsOf(mesh);
  const vertices = mesh.xyz_mm.length / 3;
  const first = new Uint32Array(vertices + 1);
  for (let k = 0; k < faces.length; k += 1) first[faces[k] + 1] += 1;
  for (let v = 0; v < vertices; v += 1) first[v + 1] += first[v];
  const place = first.slice();
  const around = new Uint32Array(faces.length);
  for (let k = 0; k < faces.length; k += 1) around[place[faces[k]]++] = Math.floor(k / 3);
  const least = Math.cos((crease_deg * Math.PI) / 180);
  const out = new Float32Array(3 * faces.length);
  for (let k = 0; k < faces.length; k += 1) {
    const own = 3 * Math.floor(k / 3);
    let [x, y, z] = [0, 0, 0];
    for (let i = first[faces[k]]; i < first[faces[k] + 1]; i += 1) {
      const f = 3 * around[i];
      if (flat[f] * flat[own] + flat[f + 1] * flat[own + 1] + flat[f + 2] * flat[own + 2] < least) continue;
      x += flat[f];
      y += flat[f + 1];
      z += flat[f + 2];
    }
    const size = Math.hypot(x, y, z) || 1;
    out[3 * k] = x / size;
    out[3 * k + 1] = y / size;
    out[3 * k + 2] = z / size;
  }
  return out;
}

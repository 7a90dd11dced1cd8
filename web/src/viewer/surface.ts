/** A shaded surface: one figure a face coloured through a table, a level that rises, and a cut that looks solid. */
import * as THREE from 'three';
import { rgb, tableOf, type Map as ColourMap } from '../lib/colours';
import { cornerNormalsOf, type SentMesh } from '../lib/mesh';

export enum Paint {
  Plain = 0,
  Table = 1,
  Level = 2,
  Marks = 3,
}

export interface SurfaceColours {
  plain: string;
  cut: string;
  wet: string;
  dry: string;
  air: string;
  marks: readonly string[];
}

const NEVER_MM = 1e8;

export function geometryOf(mesh: SentMesh): THREE.BufferGeometry {
  const corners = mesh.faces.length;
  const xyz = new Float32Array(3 * corners);
  for (let k = 0; k < corners; k += 1) {
    const v = 3 * mesh.faces[k];
    xyz[3 * k] = mesh.xyz_mm[v];
    xyz[3 * k + 1] = mesh.xyz_mm[v + 1];
    xyz[3 * k + 2] = mesh.xyz_mm[v + 2];
  }
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute('position', new THREE.BufferAttribute(xyz, 3));
  geometry.setAttribute('normal', new THREE.BufferAttribute(cornerNormalsOf(mesh), 3));
  geometry.setAttribute('figure', new THREE.BufferAttribute(new Float32Array(corners), 1));
  geometry.computeBoundingBox();
  geometry.computeBoundingSphere();
  return geometry;
}

function colour(hex: string): THREE.Color {
  return new THREE.Color(hex);
}

export class Surface {
  readonly object: THREE.Mesh;
  private readonly uniforms = {
    uPaint: { value: Paint.Plain as number },
    uTable: { value: null as THREE.DataTexture | null },
    uLow: { value: 0 },
    uHigh: { value: 1 },
    uLevel: { value: 0 },
    uNever: { value: NEVER_MM },
    uCut: { value: new THREE.Color() },
    uWet: { value: new THREE.Color() },
    uDry: { value: new THREE.Color() },
    uAir: { value: new THREE.Color() },
    uMarks: { value: [0, 1, 2, 3].map(() => new THREE.Color()) },
  };
  private readonly material: THREE.MeshLambertMaterial;

  constructor(geometry: THREE.BufferGeometry, colours: SurfaceColours, opacity = 1) {
    this.material = new THREE.MeshLambertMaterial({
      color: colour(colours.plain),
      side: THREE.DoubleSide,
      transparent: opacity < 1,
      opacity,
      depthWrite: opacity >= 1,
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 1,
    });
    this.uniforms.uCut.value = colour(colours.cut);
    this.uniforms.uWet.value = colour(colours.wet);
    this.uniforms.uDry.value = colour(colours.dry);
    this.uniforms.uAir.value = colour(colours.air);
    this.uniforms.uMarks.value = colours.marks.map(colour);
    this.material.onBeforeCompile = (shader) => this.weave(shader);
    this.object = new THREE.Mesh(geometry, this.material);
  }

  private weave(shader: THREE.WebGLProgramParametersWithUniforms): void {
    Object.assign(shader.uniforms, this.uniforms);
    shader.vertexShader = shader.vertexShader
      .replace('#include <common>', '#include <common>\nattribute float figure;\nvarying float vFigure;')
      .replace('#include <begin_vertex>', '#include <begin_vertex>\nvFigure = figure;');
    shader.fragmentShader = shader.fragmentShader
      .replace(
        '#include <common>',
        `#include <common>
        varying float vFigure;
        uniform int uPaint; uniform sampler2D uTable; uniform float uLow, uHigh, uLevel, uNever;
        uniform vec3 uCut, uWet, uDry, uAir, uMarks[4];`,
      )
      .replace(
        '#include <color_fragment>',
        `#include <color_fragment>
        if (uPaint == ${Paint.Table}) {
          float share = clamp((vFigure - uLow) / max(uHigh - uLow, 1e-9), 0.0, 1.0);
          diffuseColor.rgb = texture2D(uTable, vec2(share * 255.0 / 256.0 + 0.5 / 256.0, 0.5)).rgb;
        } else if (uPaint == ${Paint.Level}) {
          diffuseColor.rgb = vFigure <= uLevel ? uWet : (vFigure > uNever ? uAir : uDry);
        } else if (uPaint == ${Paint.Marks}) {
          diffuseColor.rgb = uMarks[int(clamp(vFigure + 0.5, 0.0, 3.5))];
        }`,
      )
      .replace(
        '#include <opaque_fragment>',
        'if (!gl_FrontFacing) { outgoingLight = uCut; diffuseColor.a = 1.0; }\n#include <opaque_fragment>',
      );
  }

  set plain(hex: string) {
    this.material.color = colour(hex);
  }

  set clipping(planes: THREE.Plane[]) {
    this.material.clippingPlanes = planes;
  }

  /** Give each face its figure. */
  figures(values: ArrayLike<number>): void {
    const attribute = this.object.geometry.getAttribute('figure') as THREE.BufferAttribute;
    const out = attribute.array as Float32Array;
    for (let f = 0; f < values.length; f += 1) {
      const value = Number.isFinite(values[f]) ? values[f] : 2 * NEVER_MM;
      out[3 * f] = out[3 * f + 1] = out[3 * f + 2] = value;
    }
    attribute.needsUpdate = true;
  }

  paint(how: Paint): void {
    this.uniforms.uPaint.value = how;
  }

  table(map: ColourMap, low: number, high: number): void {
    this.uniforms.uTable.value?.dispose();
    const texture = new THREE.DataTexture(tableOf(map), 256, 1);
    texture.colorSpace = THREE.SRGBColorSpace;
    texture.magFilter = THREE.LinearFilter;
    texture.needsUpdate = true;
    this.uniforms.uTable.value = texture;
    this.uniforms.uLow.value = low;
    this.uniforms.uHigh.value = high;
  }

  /** Where the mix stands; faces that are wetted only above `never` hold air for good. */
  level(at_mm: number, never_mm: number): void {
    this.uniforms.uLevel.value = at_mm;
    this.uniforms.uNever.value = never_mm;
  }

  dispose(): void {
    this.uniforms.uTable.value?.dispose();
    this.object.geometry.dispose();
    this.material.dispose();
    this.object.removeFromParent();
  }
}

export function cssColour(hex: string): string {
  return `rgb(${rgb(hex).join(' ')})`;
}

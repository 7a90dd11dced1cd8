/** What the bench answers. */
import type { components } from './openapi';

type Shape = components['schemas'];
export type BenchSession = Shape['BenchSessionEntry'];
export type BenchStep = Shape['BenchStepEntry'];
export type BenchClock = Shape['BenchClockEntry'];
export type BenchList = Shape['BenchSessionsEntry'];
export type WeighAnswer = Shape['BenchWeighedEntry'];
export type BenchPart = Shape['BenchPartEntry'];
export type BenchCauses = Shape['BenchCausesEntry'];
export type BenchPhotos = Shape['BenchPhotosEntry'];

import type { QuartilesDto } from "./QuartilesDto";

export type BandStatistics = { n: number, index: QuartilesDto | null, index_low: QuartilesDto | null, index_high: QuartilesDto | null, real_pair: QuartilesDto | null, };

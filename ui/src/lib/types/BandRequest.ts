
export type BandRequest = { low: number | null, high: number | null, kind: string | null, weights: { [key in string]: number } | null, };

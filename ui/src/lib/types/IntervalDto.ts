
export type IntervalDto = { value: number | null, low: number, high: number, };


export type BandDto = { low: number | null, high: number | null, currency: string, base_month: string, };

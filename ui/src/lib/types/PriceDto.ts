
export type PriceDto = { nominal: number, basis: string, date: string, real_pair: number, stale: boolean, observations: number, };

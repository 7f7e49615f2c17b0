
export type ObservedPrice = { nominal: number, currency: string, basis: string, count: number, date: string, kind: string, seller: string, real_pair: number | null, note: string, };

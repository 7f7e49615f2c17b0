
export type QuantityDto = { id: string, label: string, si: number | null, shown: string, unit: string, from: Array<string>, evidence: string | null, assumed: Array<string>, missing: Array<string>, };

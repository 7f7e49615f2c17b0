
export type DotRow = { product: string, label: string, rank: string, value: number | null, low: number, high: number, on_frontier: boolean, sentence: string, };

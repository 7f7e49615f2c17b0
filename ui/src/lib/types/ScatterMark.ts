
export type ScatterMark = { product: string, label: string, x: number, y: number | null, y_low: number, y_high: number, on_frontier: boolean, sentence: string, };

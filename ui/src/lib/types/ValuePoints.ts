
export type ValuePoints = { value: number, low: number, high: number, p_positive: number, };

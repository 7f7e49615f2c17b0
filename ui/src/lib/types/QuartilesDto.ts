
export type QuartilesDto = { median: number, q1: number, q3: number, };

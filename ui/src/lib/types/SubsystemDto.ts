
export type SubsystemDto = { value: number | null, low: number, high: number, coverage: number, };


export type SweepDto = { part: string, points: number, from_hz: number, to_hz: number, phase: boolean, date: string, };


export type Tick = { at: number, label: string, };

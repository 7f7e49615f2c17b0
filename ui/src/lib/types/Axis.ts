import type { Tick } from "./Tick";

export type Axis = { title: string, ticks: Array<Tick>, };

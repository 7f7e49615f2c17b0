import type { Axis } from "./Axis";
import type { DotRow } from "./DotRow";

export type DotPlot = { title: string, description: string, x: Axis, rows: Array<DotRow>, };

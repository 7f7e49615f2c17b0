import type { Axis } from "./Axis";
import type { PlotPoint } from "./PlotPoint";
import type { ScatterMark } from "./ScatterMark";

export type Scatter = { title: string, description: string, x: Axis, y: Axis, marks: Array<ScatterMark>, floor: Array<PlotPoint>, };

import type { BandReport } from "./BandReport";
import type { DotPlot } from "./DotPlot";
import type { Scatter } from "./Scatter";

export type BandView = { report: BandReport, dots: DotPlot, scatter: Scatter, };

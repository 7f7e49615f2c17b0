
export type PlotPoint = { x: number, y: number, };

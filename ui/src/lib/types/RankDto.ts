
export type RankDto = { best: number, worst: number, median: number | null, };

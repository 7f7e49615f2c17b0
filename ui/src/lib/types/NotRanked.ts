import type { IntervalDto } from "./IntervalDto";

export type NotRanked = { product: string, maker: string, model: string, why: string, real_pair: number, index: IntervalDto, coverage: number, missing: Array<string>, };

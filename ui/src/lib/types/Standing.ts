import type { IntervalDto } from "./IntervalDto";
import type { PriceDto } from "./PriceDto";
import type { RankDto } from "./RankDto";
import type { Remark } from "./Remark";
import type { SubsystemDto } from "./SubsystemDto";
import type { ValuePoints } from "./ValuePoints";

export type Standing = { product: string, maker: string, model: string, kind: string, price: PriceDto, index: IntervalDto, coverage: number, coverage_hard: number, subsystems: { [key in string]: SubsystemDto }, rank: RankDto, p_first: number | null, value_points: ValuePoints | null, on_frontier: boolean, beaten_by: Array<string>, remarks: Array<Remark>, missing: Array<string>, };

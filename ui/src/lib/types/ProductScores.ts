import type { CriterionDto } from "./CriterionDto";
import type { IntervalDto } from "./IntervalDto";
import type { SubsystemDto } from "./SubsystemDto";

export type ProductScores = { index: IntervalDto, coverage: number, coverage_hard: number, subsystems: { [key in string]: SubsystemDto }, criteria: Array<CriterionDto>, };


export type CriterionDto = { subsystem: string, id: string, title: string, weight: number, measure: number | null, unit: string, score: number | null, state: string, hard: boolean, source: string, };

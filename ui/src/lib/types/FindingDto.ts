
export type FindingDto = { address: string, part: string, label: string, typed: string, shown: string, si: number | null, std_uncertainty: number | null, si_unit: string, evidence: string, date: string, note: string, warning: string | null, };

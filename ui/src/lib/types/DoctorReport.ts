import type { DoctorCheck } from "./DoctorCheck";

export type DoctorReport = { healthy: boolean, checks: Array<DoctorCheck>, };

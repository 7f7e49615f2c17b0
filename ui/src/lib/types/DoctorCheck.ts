
export type DoctorCheck = { name: string, passed: boolean, detail: string, };

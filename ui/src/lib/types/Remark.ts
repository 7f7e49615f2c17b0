
export type Remark = { source: string, code: string, severity: string, text: string, };

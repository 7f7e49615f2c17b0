
export type ImportFault = { file: string, line: number | null, key: string, message: string, accepted: string, };

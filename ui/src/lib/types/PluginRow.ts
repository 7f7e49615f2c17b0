
export type PluginRow = { file: string, sha256: string, trusted_by: string | null, id: string | null, name: string | null, version: string | null, subsystem: string | null, criteria: number, sandbox: string | null, fault: string | null, };

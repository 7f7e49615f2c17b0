
export type PluginUsed = { id: string, version: string, sha256: string, sandbox: string, };

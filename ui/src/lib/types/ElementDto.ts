
export type ElementDto = { name: string, kind: string, nodes: Array<string>, value: string, loss: string, note: string, };

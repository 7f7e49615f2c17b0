
export type ProductsRequest = { band: string | null, kind: string | null, missing: string | null, };

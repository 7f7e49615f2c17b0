
export type ShowRequest = { product: string, };

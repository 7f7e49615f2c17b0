export type ProductsRequest = Record<string, never>;

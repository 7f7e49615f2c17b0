import type { ProductRow } from "./ProductRow";

export type ProductList = { title: string, file: string, currency: string, base_month: string, as_of: string, products: Array<ProductRow>, };

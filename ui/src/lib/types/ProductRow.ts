import type { PriceDto } from "./PriceDto";

export type ProductRow = { product: string, maker: string, model: string, kind: string, ways: number, powered: boolean, year: number, completeness: number, found: number, expected: number, last_teardown: string | null, price: PriceDto | null, no_price: string | null, price_age_days: number | null, };


export type ImportReport = { dry_run: boolean, products: number, new_products: number, added: number, corrected: number, unchanged: number, };

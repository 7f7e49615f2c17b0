// Which rows of the catalogue are shown, and in what order.
import type { ProductRow } from "./types/ProductRow";

type Key = string | number | null;

/** What each sortable column compares. */
const KEYS: Record<string, (row: ProductRow) => Key> = {
  product: (row) => row.product,
  maker: (row) => row.maker,
  model: (row) => row.model,
  kind: (row) => row.kind,
  ways: (row) => row.ways,
  year: (row) => row.year,
  price: (row) => row.price?.real_pair ?? null,
  dated: (row) => row.price?.date ?? null,
  completeness: (row) => row.completeness,
  teardown: (row) => row.last_teardown,
};

const collator = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

function compare(a: string | number, b: string | number): number {
  if (typeof a === "number" && typeof b === "number") return a - b;
  return collator.compare(String(a), String(b));
}

/** The rows in the order of a column. What has no value stands last, whichever way one sorts. */
export function sorted(rows: ProductRow[], column: string, descending: boolean): ProductRow[] {
  const key = KEYS[column] ?? ((row: ProductRow) => row.product);
  return [...rows].sort((a, b) => {
    const left = key(a);
    const right = key(b);
    if (left === null || right === null) {
      if (left === right) return compare(a.product, b.product);
      return left === null ? 1 : -1;
    }
    const order = descending ? compare(right, left) : compare(left, right);
    return order === 0 ? compare(a.product, b.product) : order;
  });
}

/** The rows that hold each word of the filter, in any of their words. */
export function filtered(rows: ProductRow[], filter: string): ProductRow[] {
  const words = filter.toLowerCase().split(/\s+/).filter(Boolean);
  return rows.filter((row) => {
    const text =
      `${row.maker} ${row.model} ${row.kind} ${row.ways}-way ${row.year} ${row.powered ? "powered" : "passive"}`.toLowerCase();
    return words.every((it) => text.includes(it));
  });
}

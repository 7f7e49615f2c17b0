// Which rows of the catalogue are shown, and in what order.
import { parseAmount } from "./band";
import type { ProductNote } from "./types/ProductNote";
import type { ProductNotes } from "./types/ProductNotes";
import type { ProductRow } from "./types/ProductRow";

/** What narrows and orders the list, as typed. */
export interface CatalogueForm {
  filter: string;
  /** Whether the words are looked for in findings too. */
  deep: boolean;
  kind: string;
  low: string;
  high: string;
  missing: string;
  stale: boolean;
  doubted: boolean;
  column: string;
  descending: boolean;
}

export function emptyCatalogueForm(): CatalogueForm {
  return {
    filter: "",
    deep: false,
    kind: "",
    low: "",
    high: "",
    missing: "",
    stale: false,
    doubted: false,
    column: "maker",
    descending: false,
  };
}

/** A row with its remarks and doubts; null until they are known. */
export type Noted = ProductRow & { note: ProductNote | null };

/** What is noted about products, by key. */
export type Notes = ReadonlyMap<string, ProductNote>;

/** Notes added to those that are known. */
export function added(known: Notes, notes: ProductNotes | null): Notes {
  return new Map([...known, ...(notes?.notes ?? []).map((it) => [it.product, it] as const)]);
}

/** Whether a list is so long that its findings were not counted: what is in view is asked about. */
export function isLong(rows: ProductRow[]): boolean {
  return rows[0]?.completeness === null;
}

/** A row with what is noted about it. */
export function withNote(row: ProductRow, notes: Notes): Noted {
  const note = notes.get(row.product) ?? null;
  if (note === null || row.completeness !== null) return { ...row, note };
  const { completeness, found, expected } = note;
  return { ...row, completeness, found, expected, note };
}

/** Rows with what was noted about each. */
export function noted(rows: ProductRow[], notes: Notes): Noted[] {
  return rows.map((it) => withNote(it, notes));
}

type Key = string | number | null;

/** What each sortable column compares. */
const KEYS: Record<string, (row: Noted) => Key> = {
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
  remarks: (row) => row.note?.remarks ?? null,
  doubts: (row) => row.note?.doubts ?? null,
};

const collator = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

function compare(a: string | number, b: string | number): number {
  if (typeof a === "number" && typeof b === "number") return a - b;
  return collator.compare(String(a), String(b));
}

/** The rows in the order of a column. What has no value stands last, whichever way one sorts. */
export function sorted(rows: Noted[], column: string, descending: boolean): Noted[] {
  const key = KEYS[column] ?? ((row: Noted) => row.product);
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

/** The rows that pass all filters; `keys` are those that the engine found, or null when it was not asked. */
export function filtered(rows: Noted[], form: CatalogueForm, keys: Set<string> | null): Noted[] {
  const words = form.deep ? [] : form.filter.toLowerCase().split(/\s+/).filter(Boolean);
  // An amount that cannot be read limits nothing.
  const low = parseAmount(form.low) ?? null;
  const high = parseAmount(form.high) ?? null;
  return rows.filter((row) => {
    if (keys && !keys.has(row.product)) return false;
    if (form.kind && row.kind !== form.kind) return false;
    if (form.stale && row.price !== null && !row.price.stale) return false;
    if (form.doubted && row.completeness !== null && !row.note?.doubts) return false;
    if (low !== null && (row.price === null || row.price.real_pair < low)) return false;
    if (high !== null && (row.price === null || row.price.real_pair >= high)) return false;
    if (words.length === 0) return true;
    const text =
      `${row.maker} ${row.model} ${row.kind} ${row.ways}-way ${row.year} ${row.powered ? "powered" : "passive"}`.toLowerCase();
    return words.every((it) => text.includes(it));
  });
}

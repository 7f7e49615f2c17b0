// A parts list while it is typed: rows with an empty one at the end, and what of it is not recorded yet.
import type { PartRow } from "./types/PartRow";

export type Cell = keyof PartRow;

export const emptyRow = (): PartRow => ({
  name: "",
  kind: "",
  from: "",
  to: "",
  value: "",
  loss: "",
  tolerance: "",
  construction: "",
  rating: "",
  note: "",
});

export const isEmpty = (row: PartRow): boolean => Object.values(row).every((it) => it === "");

/** The rows with one empty row at the end, to type the next part into. */
export function withRoom(rows: PartRow[]): PartRow[] {
  const last = rows.at(-1);
  return last && isEmpty(last) ? rows : [...rows, emptyRow()];
}

/** What is sent of the rows, and which row each came from. */
export function filled(rows: PartRow[]): { parts: PartRow[]; from: number[] } {
  const from = rows.flatMap((row, index) => (isEmpty(row) ? [] : [index]));
  return { parts: from.flatMap((index) => rows[index] ?? []), from };
}

/** The rows typed and not recorded yet survive a window that is closed; kept beside the page, by teardown. */
export function keepDraft(key: string, rows: PartRow[] | null): void {
  try {
    if (rows === null) localStorage.removeItem(key);
    else localStorage.setItem(key, JSON.stringify(rows));
  } catch {
    // Without a store the draft lives as long as the window.
  }
}

export function keptDraft(key: string): PartRow[] | null {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(key) ?? "null");
    if (!Array.isArray(read)) return null;
    return read.map((it: unknown) => {
      const row = emptyRow();
      for (const cell of Object.keys(row) as Cell[]) {
        const text = (it as Partial<Record<Cell, unknown>> | null)?.[cell];
        if (typeof text === "string") row[cell] = text;
      }
      return row;
    });
  } catch {
    return null;
  }
}

// A parts list while it is typed: rows with an empty one at the end, and what of it is not recorded yet.
import { keptDraft } from "./drafts";
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

/** The rows that were typed and not recorded yet; null when there are none. */
export function keptRows(key: string): PartRow[] | null {
  const read = keptDraft(key);
  if (!Array.isArray(read)) return null;
  return read.map((it: unknown) => {
    const row = emptyRow();
    for (const cell of Object.keys(row) as Cell[]) {
      const text = (it as Partial<Record<Cell, unknown>> | null)?.[cell];
      if (typeof text === "string") row[cell] = text;
    }
    return row;
  });
}

// The bench without its pictures: which row comes next, what is shown, what changed.
import type { BenchPart } from "./types/BenchPart";
import type { BenchReport } from "./types/BenchReport";
import type { BenchRow } from "./types/BenchRow";
import type { QuantityDto } from "./types/QuantityDto";

/** What names a row: an address may have a place for what was found and others for what the maker says. */
export function rowId(row: Pick<BenchRow, "address" | "place">): string {
  return row.place === "found" ? row.address : `${row.address} ${row.place}`;
}

/** The id of a field in the page. Addresses hold dots and plugin ids, which ids may. */
export function fieldId(row: string, cell: string): string {
  return `bench-${cell}-${row.replaceAll(" ", "-")}`;
}

/** Whether a row is shown when only what is needed shall be: what is expected, recorded, or asked for by a plugin. */
export function needed(row: BenchRow): boolean {
  return row.expected || row.state !== "open" || row.plugin !== null;
}

/** The parts with the rows that are shown. */
export function shownParts(report: BenchReport, all: boolean): BenchPart[] {
  if (all) return report.parts;
  return report.parts.map((part) => ({ ...part, rows: part.rows.filter(needed) }));
}

/** The row to go to from one, by steps over all parts; null past either end. */
export function stepped(parts: BenchPart[], from: string, step: 1 | -1): string | null {
  const ids = parts.flatMap((part) => part.rows.map(rowId));
  const at = ids.indexOf(from);
  return at < 0 ? null : (ids[at + step] ?? null);
}

/** The first row of the part after or before the one that a row is in; null past either end. */
export function partStepped(parts: BenchPart[], from: string, step: 1 | -1): string | null {
  const filled = parts.filter((part) => part.rows.length > 0);
  const at = filled.findIndex((part) => part.rows.some((row) => rowId(row) === from));
  const row = at < 0 ? undefined : filled[at + step]?.rows[0];
  return row === undefined ? null : rowId(row);
}

/** The quantities that read otherwise than before, by id. */
export function moved(before: QuantityDto[], after: QuantityDto[]): string[] {
  const shown = new Map(before.map((it) => [it.id, it.shown]));
  return after.filter((it) => shown.has(it.id) && shown.get(it.id) !== it.shown).map((it) => it.id);
}

/** A label for a next specimen: the first capital that is not taken. */
export function nextLabel(taken: string[]): string {
  const letters = Array.from({ length: 26 }, (_, at) => String.fromCharCode(65 + at));
  return letters.find((it) => !taken.includes(it)) ?? `specimen ${String(taken.length + 1)}`;
}

/** A part's name on screens: `woofer 2` of `woofer2`. */
export function partName(part: string): string {
  return part.replace(/(\d)$/, " $1");
}

function field(row: string, cell: string): HTMLElement | null {
  return document.getElementById(fieldId(row, cell));
}

/** Puts the focus into a field of a row, or into its value where it has no such field; says whether it is there. */
export function focusRow(row: string, cell = "value"): boolean {
  const into = field(row, cell) ?? field(row, "value");
  if (into === null) return false;
  into.focus();
  into.scrollIntoView({ block: "nearest" });
  if (into instanceof HTMLInputElement) into.select();
  return true;
}

/** Types a text into the value of a row; it is saved like any other when the field is left. */
export function typeInto(row: string, text: string): void {
  const into = field(row, "value");
  if (!(into instanceof HTMLInputElement)) return;
  into.focus();
  into.value = text;
  into.dispatchEvent(new Event("input", { bubbles: true }));
}

// The bench without its pictures.
import { expect, it } from "vitest";
import {
  fieldId,
  moved,
  needed,
  nextLabel,
  partName,
  partStepped,
  rowId,
  shownParts,
  stepped,
} from "./bench";
import type { BenchReport } from "./types/BenchReport";
import type { BenchRow } from "./types/BenchRow";
import benchJson from "../test-fixtures/bench.json";

const report: BenchReport = benchJson;
const parts = report.parts;
const all = parts.flatMap((part) => part.rows);

function row(changes: Partial<BenchRow>): BenchRow {
  const [first] = all;
  if (first === undefined) throw new Error("the fixture has rows");
  return { ...first, ...changes };
}

it("names rows by address and place, each once", () => {
  const ids = all.map(rowId);
  expect(new Set(ids).size).toBe(ids.length);
  expect(rowId({ address: "woofer.re", place: "found" })).toBe("woofer.re");
  expect(rowId({ address: "woofer.re", place: "stated" })).toBe("woofer.re stated");
  expect(fieldId("woofer.re stated", "value")).not.toContain(" ");
});

it("steps over the ends of parts, and stops at both ends", () => {
  const ids = all.map(rowId);
  let at: string | null = ids[0] ?? null;
  const seen: string[] = [];
  while (at !== null) {
    seen.push(at);
    at = stepped(parts, at, 1);
  }
  expect(seen).toEqual(ids);
  expect(stepped(parts, ids[0] ?? "", -1)).toBeNull();
  expect(stepped(parts, "no.such", 1)).toBeNull();
});

it("goes from part to part, over those of which nothing is shown", () => {
  const [first, second, third] = parts;
  if (!first || !second || !third) throw new Error("the fixture has three parts");
  const start = rowId(first.rows[0] ?? row({}));
  expect(partStepped([first, { ...second, rows: [] }, third], start, 1)).toBe(
    rowId(third.rows[0] ?? row({})),
  );
  expect(partStepped(parts, start, -1)).toBeNull();
});

it("leaves out what is optional, open and of the program itself", () => {
  expect(needed(row({ expected: false, state: "open", plugin: null }))).toBe(false);
  expect(needed(row({ expected: true, state: "open", plugin: null }))).toBe(true);
  expect(needed(row({ expected: false, state: "not inspected", plugin: null }))).toBe(true);
  expect(needed(row({ expected: false, state: "open", plugin: "Finish" }))).toBe(true);
  expect(shownParts(report, true)).toBe(report.parts);
  const few = shownParts(report, false).flatMap((part) => part.rows);
  expect(few.length).toBeLessThan(all.length);
  expect(few.every(needed)).toBe(true);
});

it("tells which quantities read otherwise, and calls nothing changed that is new", () => {
  const [a, b] = report.quantities;
  if (!a || !b) throw new Error("the fixture has quantities");
  expect(moved([a, b], [a, { ...b, shown: "other" }])).toEqual([b.id]);
  expect(moved([a], [a, b])).toEqual([]);
});

it("labels specimens in turn, and names parts in words", () => {
  expect(nextLabel([])).toBe("A");
  expect(nextLabel(["A", "C"])).toBe("B");
  expect(partName("woofer2")).toBe("woofer 2");
  expect(partName("whole")).toBe("whole");
});

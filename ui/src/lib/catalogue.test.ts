import { expect, it } from "vitest";
import {
  added,
  emptyCatalogueForm,
  filtered,
  isLong,
  noted,
  sorted,
  withNote,
  type CatalogueForm,
} from "./catalogue";
import type { ProductNote } from "./types/ProductNote";
import type { ProductRow } from "./types/ProductRow";

function row(product: string, year: number, real: number | null): ProductRow {
  const [maker = "", model = ""] = product.split("/");
  return {
    product,
    maker,
    model,
    kind: model === "x" ? "floor-standing" : "stand-mount",
    ways: 2,
    powered: false,
    year,
    completeness: 0.5,
    found: 1,
    expected: 2,
    last_teardown: null,
    price:
      real === null
        ? null
        : {
            nominal: real,
            basis: "pair",
            date: "2026-01-01",
            real_pair: real,
            stale: real === 200,
            observations: 1,
          },
    no_price: null,
    price_age_days: null,
  };
}

function note(product: string, remarks: number, doubts: number, doubt: string): ProductNote {
  return { product, completeness: 0.75, found: 3, expected: 4, remarks, doubts, doubt };
}

const notes = added(new Map(), {
  notes: [note("b/m10", 1, 2, "Mass and resonance disagree."), note("a/x", 3, 0, "")],
});
const rows = noted(
  [row("b/m10", 2020, 300), row("b/m9", 2019, null), row("a/x", 2021, 200)],
  notes,
);
const keys = (list: ProductRow[]) => list.map((it) => it.product);
const pass = (changes: Partial<CatalogueForm>, found: Set<string> | null = null) =>
  keys(filtered(rows, { ...emptyCatalogueForm(), ...changes }, found));

it("sorts numbers as numbers, also inside names", () => {
  expect(keys(sorted(rows, "model", false))).toEqual(["b/m9", "b/m10", "a/x"]);
  expect(keys(sorted(rows, "year", true))).toEqual(["a/x", "b/m10", "b/m9"]);
});

it("keeps what has no value last both ways", () => {
  expect(keys(sorted(rows, "price", false))).toEqual(["a/x", "b/m10", "b/m9"]);
  expect(keys(sorted(rows, "price", true))).toEqual(["b/m10", "a/x", "b/m9"]);
  expect(keys(sorted(rows, "remarks", true))).toEqual(["a/x", "b/m10", "b/m9"]);
});

it("wants each word of the filter, in any place", () => {
  expect(pass({ filter: " M10  2020 " })).toEqual(["b/m10"]);
  expect(pass({ filter: "2-way" })).toHaveLength(3);
  expect(pass({ filter: "m10 2019" })).toEqual([]);
});

it("narrows by kind, price, age and doubt", () => {
  expect(pass({ kind: "floor-standing" })).toEqual(["a/x"]);
  expect(pass({ low: "200", high: "300" })).toEqual(["a/x"]);
  expect(pass({ low: "all" })).toHaveLength(3);
  expect(pass({ stale: true })).toEqual(["b/m9", "a/x"]);
  expect(pass({ doubted: true })).toEqual(["b/m10"]);
});

it("leaves the words to the engine when findings are searched too", () => {
  expect(pass({ filter: "soldered", deep: true }, new Set(["a/x"]))).toEqual(["a/x"]);
  expect(pass({ kind: "stand-mount" }, new Set(["a/x"]))).toEqual([]);
});

it("counts findings of a long list where they were noted", () => {
  const long = { ...row("a/x", 2021, 200), completeness: null, found: 0, expected: 0 };
  expect(isLong([long])).toBe(true);
  expect(isLong([row("a/x", 2021, 200)])).toBe(false);
  expect(withNote(long, notes)).toMatchObject({ completeness: 0.75, found: 3, expected: 4 });
  expect(withNote({ ...long, product: "b/m9" }, notes)).toMatchObject({ completeness: null });
  // What is counted stays as the list has it.
  expect(withNote(row("a/x", 2021, 200), notes).completeness).toBe(0.5);
  expect(added(notes, { notes: [note("b/m9", 0, 0, "")] }).size).toBe(3);
  expect(added(notes, null).size).toBe(2);
});

import { expect, it } from "vitest";
import { filtered, sorted } from "./catalogue";
import type { ProductRow } from "./types/ProductRow";

function row(product: string, year: number, real: number | null): ProductRow {
  const [maker = "", model = ""] = product.split("/");
  return {
    product,
    maker,
    model,
    kind: "stand-mount",
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
            stale: false,
            observations: 1,
          },
    no_price: null,
    price_age_days: null,
  };
}

const rows = [row("b/m10", 2020, 300), row("b/m9", 2019, null), row("a/x", 2021, 200)];
const keys = (list: ProductRow[]) => list.map((it) => it.product);

it("sorts numbers as numbers, also inside names", () => {
  expect(keys(sorted(rows, "model", false))).toEqual(["b/m9", "b/m10", "a/x"]);
  expect(keys(sorted(rows, "year", true))).toEqual(["a/x", "b/m10", "b/m9"]);
});

it("keeps what has no value last both ways", () => {
  expect(keys(sorted(rows, "price", false))).toEqual(["a/x", "b/m10", "b/m9"]);
  expect(keys(sorted(rows, "price", true))).toEqual(["b/m10", "a/x", "b/m9"]);
});

it("wants each word of the filter, in any place", () => {
  expect(keys(filtered(rows, " M10  2020 "))).toEqual(["b/m10"]);
  expect(keys(filtered(rows, "2-way"))).toHaveLength(3);
  expect(keys(filtered(rows, "m10 2019"))).toEqual([]);
});

import { expect, it } from "vitest";
import {
  bandInWords,
  parseAmount,
  parseWeight,
  parseWeights,
  requestOf,
  weightTexts,
} from "./band";
import { grouped, split, title } from "./group";
import { moved } from "./roving";
import { address, parse } from "./route.svelte";

it("reads amounts, open ends and nonsense apart", () => {
  expect(["200", " 500 ", "", "2.5", "-1", "1e3", "200 USD"].map(parseAmount)).toEqual([
    200,
    500,
    null,
    undefined,
    undefined,
    undefined,
    undefined,
  ]);
});

it("asks for no band while a field is not a number", () => {
  expect(requestOf({ low: "x", high: "500", kind: "", weights: null })).toBeNull();
  expect(requestOf({ low: "", high: "500", kind: "stand-mount", weights: null })).toEqual({
    low: null,
    high: 500,
    kind: "stand-mount",
    weights: null,
    draws: null,
    seed: null,
    kappa: null,
    threads: null,
  });
  expect(bandInWords(null, 500)).toBe("below 500");
});

it("reads weights, and refuses nonsense and nothing but zeros", () => {
  expect(["25", " 12.5 ", "0", "", "-1", "1e3", "x"].map(parseWeight)).toEqual([
    25,
    12.5,
    0,
    undefined,
    undefined,
    undefined,
    undefined,
  ]);
  expect(parseWeights({ cabinet: "1", driver: "0" })).toEqual({ cabinet: 1, driver: 0 });
  expect(parseWeights({ cabinet: "0", driver: "0" })).toBeUndefined();
  expect(parseWeights({ cabinet: "1", driver: "x" })).toBeUndefined();
  expect(weightTexts({ cabinet: 0.25, driver: 1 / 3 })).toEqual({ cabinet: "25", driver: "33.3" });
  const form = { low: "200", high: "500", kind: "", weights: { cabinet: "x" } };
  expect(requestOf(form)).toBeNull();
  expect(requestOf({ ...form, weights: { cabinet: "40" } })?.weights).toEqual({ cabinet: 40 });
});

it("keeps the product in the address and finds it again", () => {
  const route = { screen: "product", product: "a-b/c d" } as const;
  expect(address(route)).toBe("#/product/a-b/c%20d");
  expect(parse(address(route))).toEqual(route);
  expect(parse("#/catalogue")).toEqual({ screen: "catalogue" });
  const opened = {
    screen: "product",
    product: "a/b",
    specimen: "A & B",
    date: "2026-05-02",
    band: "200..500",
    section: "findings",
  } as const;
  expect(parse(address(opened))).toEqual(opened);
  expect(parse("#/product")).toEqual({ screen: "band" });
  expect(parse("#/nowhere/a/b")).toEqual({ screen: "band" });
  expect(parse("#/product/%/b")).toEqual({ screen: "product", product: "%/b" });
  expect(parse("")).toEqual({ screen: "band" });
});

it("moves inside a row of things and stops at its ends", () => {
  expect(moved(0, 3, "ArrowUp")).toBe(0);
  expect(moved(0, 3, "ArrowDown")).toBe(1);
  expect(moved(2, 3, "ArrowRight")).toBe(2);
  expect(moved(0, 3, "End")).toBe(2);
  expect(moved(0, 3, "a")).toBeNull();
  expect(moved(0, 0, "End")).toBeNull();
});

it("splits an address at its first dot and groups in the order met", () => {
  expect(split("cabinet.panel_thick.side")).toEqual({ part: "cabinet", key: "panel_thick.side" });
  expect(split("price of 2026-10-09")).toEqual({ part: "", key: "price of 2026-10-09" });
  expect(["load", "port"].map(title)).toEqual(["Load on the amplifier", "Port"]);
  expect(grouped(["b1", "a1", "b2"], (it) => it.charAt(0))).toEqual([
    ["b", ["b1", "b2"]],
    ["a", ["a1"]],
  ]);
});

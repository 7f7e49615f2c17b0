import { describe, expect, it } from "vitest";
import {
  age,
  chance,
  finePercent,
  measure,
  pairs,
  parted,
  percent,
  plural,
  range,
  score,
  signed,
  usableLocale,
  weightPoints,
} from "./format";

describe("usableLocale", () => {
  // What WebKitGTK reports under LANG=C; the constructors of `Intl` throw a RangeError on it.
  it("replaces a name that Intl refuses", () => {
    expect(() => new Intl.NumberFormat("C")).toThrow(RangeError);
    expect(usableLocale("C")).toBe("en");
  });

  it("keeps and tidies a name that Intl knows", () => {
    expect(usableLocale("de-de")).toBe("de-DE");
  });
});

describe("numbers", () => {
  it("gives scores one decimal, so that columns line up", () => {
    expect(score(61)).toBe("61.0");
    expect(score(61.25)).toBe("61.3");
    expect(range(score(52), score(70))).toBe("52.0–70.0");
  });

  it("gives measures four digits, and powers of ten outside the bench's usual range", () => {
    expect(measure(0.0112)).toBe("0.0112");
    expect(measure(312.43)).toBe("312.4");
    expect(measure(4.7e-6)).toBe("4.7 × 10⁻⁶");
    expect(measure(-2.5e7)).toBe("−2.5 × 10⁷");
    expect(measure(-19.9)).toBe("−19.9");
    expect(measure(0)).toBe("0");
  });

  it("gives shares in percent and counts with their noun", () => {
    expect(percent(0.814)).toBe("81%");
    expect(percent(0.998)).toBe("99%");
    expect(percent(0.29)).toBe("29%");
    expect(percent(1)).toBe("100%");
    expect(plural(1, "product")).toBe("1 product");
    expect(plural(1200, "product")).toBe("1,200 products");
  });
});

it("never says that draws settled something wholly", () => {
  expect([0, 0.004, 0.01, 0.456, 0.99, 0.994, 1].map(chance)).toEqual([
    "<1%",
    "<1%",
    "1%",
    "46%",
    "99%",
    ">99%",
    ">99%",
  ]);
});

it("writes points, weights and pairs as finely as they are known", () => {
  expect([5.6, -3.2, 0.4, -0.4].map(signed)).toEqual(["+6", "\u22123", "0", "0"]);
  expect([0.011, 0.0994, 0.0996, 0.25].map(weightPoints)).toEqual(["1.1", "9.9", "10", "25"]);
  expect(pairs(0.861)).toBe("0.86");
  expect(finePercent(0.075)).toBe("7.5%");
});

it("takes a shown quantity apart, and leaves whole what is written otherwise", () => {
  const parts = (shown: string) => Object.values(parted(shown));
  expect(parts("8.21\u00a0±\u00a00.32\u00a0kg/s")).toEqual(["8.21", "0.32", "kg/s"]);
  expect(parts("−0.400\u00a0±\u00a00.012")).toEqual(["−0.400", "0.012", ""]);
  expect(parts("6.2\u00a0Ω")).toEqual(["6.2", "", "Ω"]);
  expect(parts("2")).toEqual(["2", "", ""]);
  const power = "1.2\u00a0×\u00a010⁻⁶\u00a0Hz";
  expect(parts(power)).toEqual([power, "", ""]);
});

describe("age", () => {
  it("uses the coarsest unit that still says something", () => {
    expect([-3, 0, 1, 59, 61, 400, 730].map(age)).toEqual([
      "dated later",
      "today",
      "1 day",
      "59 days",
      "2 months",
      "13 months",
      "23 months",
    ]);
    expect(age(1500)).toBe("4 years");
  });
});

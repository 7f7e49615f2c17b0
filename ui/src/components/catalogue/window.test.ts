import { expect, it } from "vitest";
import { drawn, showing } from "./window";

it("draws every row in view wherever one scrolls, and few beyond", () => {
  const [row, height, count] = [44, 700, 10_000];
  for (let top = 0; top <= count * row - height; top += 997) {
    const { from, to } = drawn(top, height, row, count);
    expect(from * row).toBeLessThanOrEqual(top);
    expect(to * row).toBeGreaterThanOrEqual(top + height);
    expect(to - from).toBeLessThan(90);
  }
});

it("begins at the first row, ends at the last, and bears nothing to draw", () => {
  expect(drawn(0, 700, 44, 10_000).from).toBe(0);
  expect(drawn(440_000 - 700, 700, 44, 10_000).to).toBe(10_000);
  expect(drawn(0, 700, 44, 0)).toEqual({ from: 0, to: 0 });
  expect(drawn(-30, 700, 44, 3)).toEqual({ from: 0, to: 3 });
  expect(drawn(900_000, 700, 44, 300)).toEqual({ from: 300, to: 300 });
});

it("scrolls no farther than needed to show a row", () => {
  expect(showing(0, 500, 400, 40, 40)).toBe(0);
  expect(showing(20, 500, 400, 40, 40)).toBe(500);
  expect(showing(100, 500, 400, 40, 40)).toBe(3680);
});

import { expect, it } from "vitest";
import { following } from "./following";

it("works once at a time, and once more for all that moved meanwhile", async () => {
  const ends: (() => void)[] = [];
  const follow = following(() => new Promise((resolve) => ends.push(resolve)));
  const settled = () => new Promise((resolve) => setTimeout(resolve));
  follow();
  follow();
  follow();
  expect(ends).toHaveLength(1);
  ends[0]?.();
  await settled();
  expect(ends).toHaveLength(2);
  ends[1]?.();
  await settled();
  expect(ends).toHaveLength(2);
  follow();
  expect(ends).toHaveLength(3);
});

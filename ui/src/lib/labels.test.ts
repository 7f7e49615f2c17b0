import { expect, it } from "vitest";
import { along, placeLabels, type Box } from "./labels";

const inside: Box = { left: 0, top: 0, right: 200, bottom: 100 };
const width = (text: string) => text.length * 7;
const mark = (x: number, y: number): Box => ({
  left: x - 4,
  right: x + 4,
  top: y - 4,
  bottom: y + 4,
});

it("puts a label to the right, or to the left at the right edge", () => {
  const [first, last] = placeLabels(
    [
      { texts: ["abc"], mark: mark(50, 50) },
      { texts: ["abc"], mark: mark(190, 50) },
    ],
    inside,
    width,
  );
  expect(first?.anchor).toBe("start");
  expect(last?.anchor).toBe("end");
});

it("covers no other mark and no other label", () => {
  const wanted = [20, 30, 40, 50, 60, 70].map((x) => ({ texts: ["abcdef"], mark: mark(x, 50) }));
  const placed = placeLabels(wanted, inside, width);
  expect(placed.some((it) => it === null)).toBe(true);
  const boxes = placed.flatMap((it) => {
    if (it === null) return [];
    const long = width(it.text);
    const left = it.anchor === "start" ? it.x : it.anchor === "end" ? it.x - long : it.x - long / 2;
    return [{ left, right: left + long, top: it.y - 7, bottom: it.y + 7 }];
  });
  expect(boxes.length).toBeGreaterThan(0);
  const all = [...boxes, ...wanted.map((it) => it.mark)];
  for (const box of boxes) {
    const met = all.filter(
      (it) =>
        it !== box &&
        it.left < box.right &&
        box.left < it.right &&
        it.top < box.bottom &&
        box.top < it.bottom,
    );
    expect(met).toEqual([]);
  }
});

it("keeps free what is to stay free", () => {
  const wanted = [{ texts: ["abc"], mark: mark(50, 50) }];
  const right = { left: 56, right: 90, top: 40, bottom: 60 };
  const [free] = placeLabels(wanted, inside, width);
  const [moved] = placeLabels(wanted, inside, width, [right]);
  expect(free?.anchor).toBe("start");
  expect(moved?.anchor).toBe("end");
});

it("crosses a line only where there is no other place", () => {
  const wanted = [{ texts: ["abc"], mark: mark(50, 50) }];
  const level = along([
    { x: 0, y: 50 },
    { x: 200, y: 50 },
  ]);
  const [aside] = placeLabels(wanted, inside, width, [], level);
  expect(aside).toMatchObject({ anchor: "middle", y: 32.5 });
  const [across] = placeLabels(wanted, { ...inside, top: 40, bottom: 60 }, width, [], level);
  expect(across).toMatchObject({ anchor: "start", y: 50 });
});

it("leaves out a label that fits nowhere", () => {
  expect(placeLabels([{ texts: ["a".repeat(40)], mark: mark(50, 50) }], inside, width)).toEqual([
    null,
  ]);
});

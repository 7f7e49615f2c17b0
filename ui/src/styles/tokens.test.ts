// Contrast of text on the shades of the rank table, by the formulas of WCAG 2.2 (relative luminance, contrast ratio; 1.4.3
// asks for 4.5 to 1).
import { readFileSync } from "node:fs";
import { expect, it } from "vitest";

const css = readFileSync("src/styles/tokens.css", "utf8").split("@media")[0] ?? "";

/** What a token says, for light (0) or dark (1) paper. */
function token(name: string, dark: 0 | 1): string {
  const found = new RegExp(`--${name}: ([^;]+);`).exec(css)?.[1];
  if (found === undefined) throw new Error(`no token --${name}`);
  const pair = /^light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)$/.exec(found);
  return pair?.[1 + dark] ?? found;
}

type Colour = [number, number, number];

function colour(text: string, dark: 0 | 1): Colour {
  const name = /^var\(--([\w-]+)\)$/.exec(text)?.[1];
  if (name !== undefined) return colour(token(name, dark), dark);
  const mix = /^color-mix\(in srgb, (.+) (\d+)%, (.+)\)$/.exec(text);
  if (mix) {
    const [, first = "", share = "", second = ""] = mix;
    const [a, b, part] = [colour(first, dark), colour(second, dark), Number(share) / 100];
    return a.map((it, at) => it * part + (b[at] ?? 0) * (1 - part)) as Colour;
  }
  const digits = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/.exec(text);
  if (!digits) throw new Error(`${text} is no colour`);
  return digits.slice(1).map((it) => parseInt(it, 16) / 255) as Colour;
}

function luminance(of: Colour): number {
  const [r, g, b] = of.map((it) => (it <= 0.04045 ? it / 12.92 : ((it + 0.055) / 1.055) ** 2.4));
  return 0.2126 * (r ?? 0) + 0.7152 * (g ?? 0) + 0.0722 * (b ?? 0);
}

function contrast(a: Colour, b: Colour): number {
  const [x, y] = [luminance(a), luminance(b)];
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
}

it("computes contrast as the guideline does", () => {
  expect(contrast(colour("#000000", 0), colour("#ffffff", 0))).toBeCloseTo(21, 10);
});

const shades = [0, 1, 2, 3, 4, 5, 6].flatMap((shade) => [
  { shade, dark: 0 as const },
  { shade, dark: 1 as const },
]);
it.each(shades)("has legible text on shade $shade, dark $dark", ({ shade, dark }) => {
  const text = shade < 5 ? "var(--ink)" : `var(--on-shade-${String(shade)})`;
  const ground = colour(token(`shade-${String(shade)}`, dark), dark);
  expect(contrast(colour(text, dark), ground)).toBeGreaterThanOrEqual(4.5);
});

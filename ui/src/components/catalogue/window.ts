// Which rows of a long table are drawn: those in view and a screen of them before and after.

export interface Part {
  /** The first row that is drawn. */
  from: number;
  /** The row after the last one. */
  to: number;
}

/** Rows beyond each edge of the view; a fast wheel turns less than this in a frame. */
const BEYOND = 24;

/** A list of so many rows is drawn whole. */
const SHORT = 100;

/** The rows to draw of `count` rows of one height, scrolled down by `top` in a view of `height`; all in pixels. */
export function drawn(top: number, height: number, row: number, count: number): Part {
  if (count === 0 || row <= 0) return { from: 0, to: 0 };
  if (count <= SHORT) return { from: 0, to: count };
  const first = Math.floor(Math.max(top, 0) / row);
  const last = Math.ceil((Math.max(top, 0) + height) / row);
  // Whole steps: a row or two of scrolling draws nothing anew.
  const from = Math.floor(Math.max(0, first - BEYOND) / 8) * 8;
  const to = Math.min(count, Math.ceil((last + BEYOND) / 8) * 8);
  return { from: Math.min(from, to), to };
}

/** Where to scroll so that a row is wholly in view below `head` pixels that cover the top; unchanged when it is. */
export function showing(
  index: number,
  top: number,
  height: number,
  row: number,
  head: number,
): number {
  const above = index * row;
  const below = above + row + head - height;
  if (above < top) return above;
  return below > top ? below : top;
}

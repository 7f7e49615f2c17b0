// One stop of Tab in a table of marks: arrow keys move from cell to cell.

/** The mark that a key leads to from a cell, or null when the key moves nowhere. Cells with marks have a `tabindex`. */
export function movedCell(cell: HTMLTableCellElement, key: string): HTMLElement | null {
  const row = cell.parentElement;
  if (!(row instanceof HTMLTableRowElement)) return null;
  const marks = (of: Element | null | undefined) => [
    ...(of?.querySelectorAll<HTMLElement>("td[tabindex]") ?? []),
  ];
  const own = marks(row);
  const at = own.indexOf(cell);
  switch (key) {
    case "ArrowRight":
      return own[at + 1] ?? null;
    case "ArrowLeft":
      return own[at - 1] ?? null;
    case "ArrowDown":
      return marks(row.nextElementSibling)[at] ?? null;
    case "ArrowUp":
      return marks(row.previousElementSibling)[at] ?? null;
    case "Home":
      return own[0] ?? null;
    case "End":
      return own.at(-1) ?? null;
    default:
      return null;
  }
}

/** Where a cell stands in the frame around its table: the middle of its upper edge. */
export function placeOf(cell: HTMLTableCellElement): { x: number; y: number } {
  const table = cell.closest("table");
  return {
    x: (table?.offsetLeft ?? 0) + cell.offsetLeft + cell.offsetWidth / 2,
    y: (table?.offsetTop ?? 0) + cell.offsetTop,
  };
}

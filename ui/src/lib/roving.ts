// One stop for Tab in a row of many things: arrow keys move inside it (the roving tabindex of the ARIA practices guide).

/** Where the focus goes from `index` among `count` things, or null when the key does not move it. */
export function moved(index: number, count: number, key: string): number | null {
  if (count === 0) return null;
  switch (key) {
    case "ArrowDown":
    case "ArrowRight":
      return Math.min(index + 1, count - 1);
    case "ArrowUp":
    case "ArrowLeft":
      return Math.max(index - 1, 0);
    case "Home":
      return 0;
    case "End":
      return count - 1;
    default:
      return null;
  }
}

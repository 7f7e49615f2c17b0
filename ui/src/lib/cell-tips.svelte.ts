// A table whose cells explain themselves: one stop for Tab, arrow keys between cells, one sentence at a time.
import { movedCell, placeOf } from "./cells";

export interface CellTips {
  /** The sentence that is shown, and where. */
  readonly told: { x: number; y: number; text: string } | null;
  /** The key of the cell that Tab leads to, or empty for the first. */
  readonly stop: string;
  /** Shows the sentence of a cell. */
  tell: (cell: HTMLTableCellElement, text: string) => void;
  /** The same for the cell that has got the focus; Tab leads back to it. */
  reach: (key: string, cell: HTMLTableCellElement, text: string) => void;
  /** Shows nothing. */
  hush: () => void;
  /** Moves between cells; Escape takes the sentence away. */
  press: (event: KeyboardEvent & { currentTarget: HTMLTableCellElement }) => void;
}

export function cellTips(): CellTips {
  let told = $state.raw<CellTips["told"]>(null);
  let stop = $state("");
  const tell = (cell: HTMLTableCellElement, text: string): void => {
    told = { ...placeOf(cell), text };
  };
  return {
    get told() {
      return told;
    },
    get stop() {
      return stop;
    },
    tell,
    reach(key, cell, text) {
      stop = key;
      tell(cell, text);
    },
    hush() {
      told = null;
    },
    press(event) {
      if (event.key === "Escape" && told) {
        told = null;
      } else {
        const to = movedCell(event.currentTarget, event.key);
        if (to === null) return;
        to.focus();
      }
      event.preventDefault();
    },
  };
}

// Files that are dragged over the window and dropped on it. The screen that is shown may take them; else a folder is
// looked at for import.

import type { Dropped } from "./backend/commands";

/** Says false where the files are none for it. */
type Take = (files: Dropped[]) => unknown;

let takers: Take[] = [];
let over = $state(false);
let wanted = $state.raw<string[]>([]);

export const drops = {
  /** Whether files are held over the window now. */
  get over() {
    return over;
  },
  /** What was dropped for the import and is not looked at yet. It outlives the catalogue that is open. */
  get wanted() {
    return wanted;
  },
};

/** Whether what was dropped can be meant for the import: folders, and written or exported teardowns. */
export function canBeImported(it: Dropped): boolean {
  return it.is_folder || /\.(toml|json)$/i.test(it.path);
}

export function hover(isOver: boolean): void {
  over = isOver;
}

/** Takes what is dropped until the function that comes back is called. */
export function takeDrops(take: Take): () => void {
  takers = [...takers, take];
  return () => {
    takers = takers.filter((it) => it !== take);
  };
}

/** Hands dropped files to who asked last; says whether anybody did. */
export function dropped(files: Dropped[]): boolean {
  over = false;
  const take = takers.at(-1);
  return take !== undefined && take(files) !== false;
}

/** Puts paths aside for the import; it empties the list when it takes them. */
export function want(paths: string[]): void {
  wanted = paths;
}

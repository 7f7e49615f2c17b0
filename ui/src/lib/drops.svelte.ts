// Files that are dragged over the window and dropped on it. The screen that is shown may take them; else a folder is
// looked at for import.

/** Says false where the files are none for it. */
type Take = (paths: string[]) => unknown;

let takers: Take[] = [];
let over = $state(false);

export const drops = {
  /** Whether files are held over the window now. */
  get over() {
    return over;
  },
};

export function hover(isOver: boolean): void {
  over = isOver;
}

/** Takes what is dropped, by full paths, until the function that comes back is called. */
export function takeDrops(take: Take): () => void {
  takers = [...takers, take];
  return () => {
    takers = takers.filter((it) => it !== take);
  };
}

/** Hands dropped files to who asked last; says whether anybody did. */
export function dropped(paths: string[]): boolean {
  over = false;
  const take = takers.at(-1);
  return take !== undefined && take(paths) !== false;
}

// Files that are dragged over the window and dropped on it. The screen that is shown may take them; else a folder is
// looked at for import.

/** Says false where the files are none for it. */
type Take = (paths: string[]) => unknown;

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

/** Whether dropped paths can be meant for the import: folders, which have no ending, and written or exported teardowns. */
export function canBeImported(path: string): boolean {
  const ending = /\.([a-z]\w{0,7})$/i.exec(path)?.[1]?.toLowerCase();
  return ending === undefined || ending === "toml" || ending === "json";
}

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

/** Puts paths aside for the import; it empties the list when it takes them. */
export function want(paths: string[]): void {
  wanted = paths;
}

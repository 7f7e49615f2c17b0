// What was typed and is not recorded yet survives a window that is closed; kept beside the page, each under its own key.

let shelf = "";

/** To be called when a catalogue is shown: what is typed from here on belongs to that file. */
export function draftsOf(file: string): void {
  shelf = file;
}

/** The key of a draft of the catalogue that is shown; products of two catalogues may have one name. */
export function draftKey(of: string): string {
  return shelf === "" ? of : `${of} in ${shelf}`;
}

/** Keeps a draft; null forgets it. */
export function keepDraft(key: string, draft: object | null): void {
  try {
    if (draft === null) localStorage.removeItem(key);
    else localStorage.setItem(key, JSON.stringify(draft));
  } catch {
    // Without a store the draft lives as long as the window.
  }
}

/** A kept draft as it was read, to be looked at before use; null when there is none. */
export function keptDraft(key: string): unknown {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null");
  } catch {
    return null;
  }
}

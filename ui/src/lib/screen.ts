// What happens when a screen opens.
import { tick } from "svelte";
import type { Attachment } from "svelte/attachments";

let first = true;

/**
 * For the heading of a screen: names the window after it and, except at the start, moves the focus there, so that it is
 * read out and Tab goes on from it.
 */
export function openScreen(title: string): Attachment<HTMLElement> {
  return (heading) => {
    document.title = `${title} – Boxworth`;
    if (first) {
      first = false;
      return;
    }
    heading.focus();
  };
}

/** For the field of a form that somebody asked for: it takes the focus when it appears, after the heading above it. */
export const takesFocus: Attachment<HTMLElement> = (field) => {
  void tick().then(() => {
    field.focus();
  });
};

/** After work whose button went or was switched off with it: the focus goes where `to` says, unless it is elsewhere. */
export async function refocus(to: () => HTMLElement | null | undefined): Promise<void> {
  await tick();
  const at = document.activeElement;
  if (at === null || at === document.body || at.matches(":disabled")) to()?.focus();
}

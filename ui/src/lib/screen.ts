// What happens when a screen opens.
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

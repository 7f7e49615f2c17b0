// The one table of what can be done from anywhere: the menus, the keys and the page of keys follow it.
import type { Menu } from "./backend/commands";
import { PLACES } from "./screens";

export interface Action {
  id: string;
  title: string;
  menu: "File" | "Go" | "Help";
  /** As the menu writes it, such as `Ctrl+O`. */
  key: string;
}

/** What the id of going to a screen begins with. */
export const GO = "go:";
/** What the id of opening a file that was open before begins with. */
export const RECENT = "recent:";

export const ACTIONS: Action[] = [
  { id: "new", title: "New catalogue…", menu: "File", key: "Ctrl+N" },
  { id: "open", title: "Open a catalogue…", menu: "File", key: "Ctrl+O" },
  { id: "import", title: "Import a folder…", menu: "File", key: "Ctrl+I" },
  { id: "stop", title: "Stop what is under way", menu: "File", key: "Ctrl+." },
  { id: "print", title: "Print…", menu: "File", key: "Ctrl+P" },
  { id: "quit", title: "Quit", menu: "File", key: "Ctrl+Q" },
  ...PLACES.map(({ id, title, digit }) => ({
    id: `${GO}${id}`,
    title,
    menu: "Go" as const,
    key: `Alt+${String(digit)}`,
  })),
  { id: "keys", title: "All keys", menu: "Help", key: "F1" },
];

/** The menus of the window. Files that were open before stand at the end of the first. */
export function menus(recent: string[]): Menu[] {
  const titles = [...new Set(ACTIONS.map((it) => it.menu))];
  return titles.map((title) => {
    const items = ACTIONS.filter((it) => it.menu === title).map(({ id, title, key }) => ({
      id,
      title,
      key,
    }));
    const files = title === "File" ? recent : [];
    return {
      title,
      items: [...items, ...files.map((it) => ({ id: `${RECENT}${it}`, title: it, key: null }))],
    };
  });
}

/** Whether somebody is typing text, so that a single character is no command. */
function isTyping(target: EventTarget | null): boolean {
  return target instanceof Element && target.closest("input, textarea, select") !== null;
}

/** The id of what a key asks for. */
export function actionOf(event: KeyboardEvent): string | undefined {
  if (event.key === "?" && !event.ctrlKey && !event.altKey && !isTyping(event.target))
    return "keys";
  const held = [
    event.ctrlKey || event.metaKey ? "Ctrl+" : "",
    event.altKey ? "Alt+" : "",
    event.shiftKey ? "Shift+" : "",
  ].join("");
  // The digit's place counts too: on some layouts the digit row gives other characters.
  const struck = [event.key.toUpperCase(), event.code.replace(/^Digit/, "")];
  return ACTIONS.find(({ key }) => struck.some((it) => key === `${held}${it}`))?.id;
}

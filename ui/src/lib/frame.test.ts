// What the frame rests on: keys and menus from one table, what was said, work that tells how far it has come, drops.
import { afterEach, expect, it, vi } from "vitest";
import { ACTIONS, actionOf, menus } from "./actions";
import { changed, changes } from "./changes.svelte";
import { dropped, drops, hover, takeDrops } from "./drops.svelte";
import { keeper } from "./kept.svelte";
import { dismiss, hush, said, sayDone, sayFault } from "./say.svelte";
import { PLACES } from "./screens";
import { doWork, reached, stopWork } from "./work.svelte";
import type { Backend } from "./backend/backend";

afterEach(() => {
  hush();
  vi.useRealTimers();
});

const key = (init: KeyboardEventInit) => actionOf(new KeyboardEvent("keydown", init));

it("gives each action a key of its own, and each place a digit of its own", () => {
  for (const list of [ACTIONS.map((it) => it.key), PLACES.map((it) => it.digit)])
    expect(new Set<unknown>(list).size).toBe(list.length);
  for (const { id, digit } of PLACES)
    expect(key({ key: String(digit), altKey: true })).toBe(`go:${id}`);
  expect(key({ key: "!", code: "Digit1", altKey: true })).toBe("go:catalogue");
  expect(key({ key: "o", ctrlKey: true })).toBe("open");
  expect(key({ key: "F1" })).toBe("keys");
  expect(key({ key: "?" })).toBe("keys");
  expect(key({ key: "o" })).toBeUndefined();
});

it("does not take a question mark that is typed", () => {
  const input = document.createElement("input");
  document.body.append(input);
  const event = new KeyboardEvent("keydown", { key: "?", bubbles: true });
  input.dispatchEvent(event);
  expect(actionOf(event)).toBeUndefined();
  input.remove();
});

it("shows every action in a menu with its key, and the files of before behind the first", () => {
  const shown = menus(["/a.boxworth"]);
  const [first] = shown;
  expect(first?.items.at(-1)).toEqual({
    id: "recent:/a.boxworth",
    title: "/a.boxworth",
    key: null,
  });
  expect(shown.flatMap((it) => it.items).filter((it) => it.key !== null)).toHaveLength(
    ACTIONS.length,
  );
});

it("lets a note fade and keeps a fault until it is dismissed", () => {
  vi.useFakeTimers();
  sayDone("Saved");
  sayFault("Not saved", new Error("the disk is full"));
  sayFault("Not saved", new Error("the disk is full"));
  expect(said.note).toBe("Saved");
  expect(said.faults).toHaveLength(1);
  vi.advanceTimersByTime(60_000);
  expect(said.note).toBe("");
  expect(said.faults).toHaveLength(1);
  dismiss(said.faults[0]?.id ?? 0);
  expect(said.faults).toHaveLength(0);
});

/** A window that numbers work from 1 when it is let, and hears what is stopped. */
function window() {
  const stopped: number[] = [];
  let last = 0;
  let open: () => void = () => undefined;
  const gate = new Promise<void>((resolve) => (open = resolve));
  const backend = {
    announce: () => gate.then(() => (last += 1)),
    cancel: ({ work }: { work: number }) => {
      stopped.push(work);
      return Promise.resolve(null);
    },
  } as unknown as Backend;
  return { backend, stopped, open };
}

it("tells how far work has come, and stops the one that is meant", async () => {
  const { backend, stopped, open } = window();
  open();
  const ends: (() => void)[] = [];
  const run = () => new Promise<void>((resolve) => ends.push(resolve));
  const both = [doWork("Publishing", backend, run), doWork("Importing", backend, run)];
  await vi.waitFor(() => {
    expect(ends).toHaveLength(2);
  });
  reached(1, 3, 4, "guide.pdf");
  expect(said.works.map((it) => [it.share, it.step])).toEqual([
    [0.75, "guide.pdf"],
    [null, ""],
  ]);
  reached(2, 3, 4, "");
  expect(said.works[1]?.step).toBe("3 of 4");
  said.works[0]?.cancel?.();
  said.works[0]?.cancel?.();
  expect(stopped).toEqual([1]);
  expect(said.works.map((it) => it.stopping)).toEqual([true, false]);
  stopWork();
  expect(stopped).toEqual([1, 2]);
  ends.forEach((end) => {
    end();
  });
  await Promise.all(both);
  expect(said.works).toHaveLength(0);
});

it("stops work that was asked to stop before the window had numbered it", async () => {
  const { backend, stopped, open } = window();
  const ran = vi.fn(() => Promise.resolve());
  const work = doWork("Publishing", backend, ran);
  stopWork();
  expect(said.works.map((it) => it.stopping)).toEqual([true]);
  expect(stopped).toEqual([]);
  open();
  await work;
  expect(stopped).toEqual([1]);
  // The window ends it before its first step, and says so.
  expect(ran).toHaveBeenCalledWith(1);
});

it("hands drops to who asked last, and says when nobody did", () => {
  const file = (path: string) => [{ path, is_folder: false }];
  expect(dropped(file("/a"))).toBe(false);
  const taken: string[] = [];
  const leave = takeDrops((files) => taken.push(...files.map((it) => it.path)));
  hover(true);
  expect(drops.over).toBe(true);
  expect(dropped(file("/b"))).toBe(true);
  expect(drops.over).toBe(false);
  leave();
  expect(dropped(file("/c"))).toBe(false);
  expect(taken).toEqual(["/b"]);
});

it("keeps what was typed by its name", () => {
  const keep = keeper();
  keep("a", () => ({ text: "" })).text = "typed";
  expect(keep("a", () => ({ text: "" })).text).toBe("typed");
  expect(keep("b", () => ({ text: "" })).text).toBe("");
});

it("counts changes", () => {
  const before = changes.count;
  changed();
  expect(changes.count).toBe(before + 1);
});

// What the line at the foot of the window says: what was done, what is under way, what went wrong.
import { asFault } from "./backend/backend";
import type { ErrorDto } from "./types/ErrorDto";

/** Long work that is under way. */
export interface Work {
  text: string;
  /** What is done now; empty when nobody said. */
  step: string;
  /** How much is done, 0 to 1; null when nobody can tell. */
  share: number | null;
  /** Stops the work; null when it cannot be stopped. */
  cancel: (() => void) | null;
  /** Whether it was asked to stop, and is still at a step that it finishes first. */
  stopping: boolean;
}

interface Said {
  id: number;
  title: string;
  fault: ErrorDto;
}

/** How long a note stays, in milliseconds; nobody has to act on one. */
const NOTE_STAYS = 6000;

let note = $state("");
let faults = $state.raw<Said[]>([]);
let works = $state<Work[]>([]);
let last = 0;
let fading: ReturnType<typeof setTimeout> | undefined;

export const said = {
  get note() {
    return note;
  },
  get faults(): readonly Said[] {
    return faults;
  },
  get works(): readonly Work[] {
    return works;
  },
};

/** Says what was done: `Saved`, `Undone: …`. The next note takes its place. */
export function sayDone(text: string): void {
  note = text;
  clearTimeout(fading);
  fading = setTimeout(() => {
    note = "";
  }, NOTE_STAYS);
}

/** Says what went wrong. It stays until it is dismissed; the same sentence is said once. */
export function sayFault(title: string, reason: unknown): void {
  const fault = asFault(reason);
  const rest = faults.filter((it) => it.title !== title || it.fault.message !== fault.message);
  last += 1;
  faults = [...rest, { id: last, title, fault }];
}

export function dismiss(id: number): void {
  faults = faults.filter((it) => it.id !== id);
}

/** Shows work that takes long. What comes back is changed as it goes on, and handed to `endWork` at the end. */
export function sayWork(text: string, cancel: (() => void) | null = null): Work {
  works.push({ text, step: "", share: null, cancel, stopping: false });
  const begun = works.at(-1);
  if (begun === undefined) throw new Error("a list holds what was put into it");
  return begun;
}

export function endWork(work: Work): void {
  works = works.filter((it) => it !== work);
}

/** Forgets everything, as when another catalogue is opened. */
export function hush(): void {
  clearTimeout(fading);
  note = "";
  faults = [];
  works = [];
}

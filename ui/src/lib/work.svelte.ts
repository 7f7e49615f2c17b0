// Long work in the window: its number, which the window's messages carry, its progress, and its way to be stopped.
import type { Backend } from "./backend/backend";
import { sayFault, sayWork, type Work } from "./say.svelte";

let last = 0;
let running: Numbered[] = [];

export interface Numbered extends Work {
  id: number;
}

/** Shows a piece of work that the window tells about; `endWork` ends it. `cancel` is offered where it can be stopped. */
export function beginWork(text: string, backend: Backend, stops = true): Numbered {
  last += 1;
  const id = last;
  const stop = () => {
    backend.cancel({ work: id }).catch((why: unknown) => {
      sayFault("The work goes on", why);
    });
  };
  const cancel = stops ? stop : null;
  const work = Object.assign(sayWork(text, cancel), { id });
  running = [...running.slice(-8), work];
  return work;
}

/** What the window said of a piece of work. */
export function reached(id: number, done: number, total: number): void {
  const work = running.find((it) => it.id === id);
  if (work !== undefined) work.share = total > 0 ? done / total : null;
}

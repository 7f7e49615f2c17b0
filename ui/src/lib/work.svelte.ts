// Long work in the window: its number, which the window's messages carry, its progress, and its way to be stopped.
import { asFault, type Backend } from "./backend/backend";
import { count } from "./format";
import { said, sayFault, sayWork, type Work } from "./say.svelte";

let last = 0;
let running: Numbered[] = [];

export interface Numbered extends Work {
  id: number;
}

/** Shows a piece of work that the window tells about and that can be stopped; `endWork` ends it. */
export function beginWork(text: string, backend: Pick<Backend, "cancel">): Numbered {
  last += 1;
  const id = last;
  const cancel = () => {
    if (work.stopping) return;
    work.stopping = true;
    backend.cancel({ work: id }).catch((why: unknown) => {
      work.stopping = false;
      sayFault("The work goes on", why);
    });
  };
  const work = Object.assign(sayWork(text, cancel), { id });
  running = [...running.slice(-8), work];
  return work;
}

/** What the window said of a piece of work. */
export function reached(id: number, done: number, total: number, step: string): void {
  const work = running.find((it) => it.id === id);
  if (work === undefined) return;
  work.share = total > 0 ? done / total : null;
  work.step = step === "" && total > 0 ? `${count(done)} of ${count(total)}` : step;
}

/** Stops what was begun last. */
export function stopWork(): void {
  [...said.works]
    .reverse()
    .find((it) => it.cancel !== null)
    ?.cancel?.();
}

/** Whether a rejected call was stopped by whoever asked; that is no fault. */
export function wasStopped(reason: unknown): boolean {
  return asFault(reason).code === "stopped";
}

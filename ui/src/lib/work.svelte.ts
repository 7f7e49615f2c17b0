// Long work in the window: its number, which the window's messages carry, its progress, and its way to be stopped.
import { asFault, type Backend } from "./backend/backend";
import { count } from "./format";
import { endWork, said, sayFault, sayWork, type Work } from "./say.svelte";

/** What is under way, by the window's numbers. */
let running: { id: number; work: Work }[] = [];

/** Does long work: shows it, how far it has come, and a way to stop it, which serves before the work has begun too. */
export async function doWork<T>(
  text: string,
  backend: Pick<Backend, "announce" | "cancel">,
  run: (work: number) => Promise<T>,
): Promise<T> {
  let id: number | null = null;
  const end = () => {
    if (id === null) return;
    backend.cancel({ work: id }).catch((why: unknown) => {
      work.stopping = false;
      sayFault("The work goes on", why);
    });
  };
  const work = sayWork(text, () => {
    if (work.stopping) return;
    work.stopping = true;
    end();
  });
  try {
    id = await backend.announce({});
    running = [...running, { id, work }];
    // Asked to stop while there was no number to stop it by.
    if (work.stopping) end();
    return await run(id);
  } finally {
    running = running.filter((it) => it.work !== work);
    endWork(work);
  }
}

/** What the window said of a piece of work. */
export function reached(id: number, done: number, total: number, step: string): void {
  const work = running.find((it) => it.id === id)?.work;
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

// What is on the bench, and the one queue through which it changes: fields are saved in the order in which they were left.
import { tick } from "svelte";
import { asFault, type Backend } from "./backend/backend";
import { moved } from "./bench";
import { sayDone, sayFault } from "./say.svelte";
import type { BenchReport } from "./types/BenchReport";
import type { BenchRequest } from "./types/BenchRequest";
import type { BenchSaved } from "./types/BenchSaved";
import type { ErrorDto } from "./types/ErrorDto";

/** What a row wants to be saved; what is null stays as it is. */
export interface Wanted {
  finding: string;
  place: string;
  value: string | null;
  evidence: string | null;
  note: string | null;
  reason: string;
}

export interface BenchDesk {
  readonly report: BenchReport | null;
  readonly fault: ErrorDto | null;
  /** Whether something is being saved. */
  readonly saving: boolean;
  /** Quantities that read otherwise since the last change. */
  readonly moved: string[];
  /** Whether anything was written since the desk was made. */
  readonly wrote: boolean;
  /** Rises with each change that was taken back or done again: what stands below the rows asks anew. */
  readonly steps: number;
  /** Asks anew, after what is still being saved. */
  load(): Promise<void>;
  /** Saves what `wanted` gives when its turn comes; null when it turns out that there is nothing. */
  save(wanted: () => Wanted | null): Promise<BenchSaved | null>;
  /** Takes back or does again; gives the address of what changed on this bench, or null. */
  step(which: "undo" | "redo"): Promise<string | null>;
}

export function benchDesk(backend: Backend, request: () => BenchRequest): BenchDesk {
  let report = $state.raw<BenchReport | null>(null);
  let fault = $state.raw<ErrorDto | null>(null);
  let under = $state(0);
  let lately = $state.raw<string[]>([]);
  let wrote = false;
  let steps = $state(0);
  let tail: Promise<unknown> = Promise.resolve();

  function queued<T>(work: () => Promise<T>): Promise<T> {
    under += 1;
    const done = tail.then(work).finally(() => {
      under -= 1;
    });
    tail = done.catch(() => undefined);
    return done;
  }

  function show(next: BenchReport): void {
    if (report?.product === next.product) lately = moved(report.quantities, next.quantities);
    report = next;
    fault = null;
  }

  async function read(): Promise<void> {
    try {
      show(await backend.bench(request()));
    } catch (reason) {
      fault = asFault(reason);
    }
    await tick();
  }

  async function stepNow(which: "undo" | "redo"): Promise<string | null> {
    const step = which === "undo" ? report?.undo : report?.redo;
    if (!step) {
      sayDone(
        which === "undo" ? "There is nothing to take back." : "There is nothing to do again.",
      );
      return null;
    }
    if (!step.allowed) {
      sayDone(step.text);
      return null;
    }
    await backend[which]({});
    wrote = true;
    steps += 1;
    await read();
    const elsewhere = step.product !== report?.product;
    const text = step.text.replace(/^(Undo|Redo) /, "");
    const done = which === "undo" ? "Taken back" : "Done again";
    sayDone(`${done}: ${text}${elsewhere ? `, in ${step.product ?? "another product"}` : ""}.`);
    return elsewhere ? null : (step.changes[0]?.what ?? null);
  }

  return {
    get report() {
      return report;
    },
    get fault() {
      return fault;
    },
    get saving() {
      return under > 0;
    },
    get moved() {
      return lately;
    },
    get wrote() {
      return wrote;
    },
    get steps() {
      return steps;
    },
    load() {
      return queued(read);
    },
    save(wanted) {
      return queued(async () => {
        const it = wanted();
        if (it === null) return null;
        const saved = await backend.save_finding({ bench: request(), ...it });
        if (saved.changed) wrote = true;
        show(saved.bench);
        // The rows must know of it before the next one in the queue is asked what it wants.
        await tick();
        return saved;
      });
    },
    async step(which) {
      try {
        return await queued(() => stepNow(which));
      } catch (reason) {
        sayFault(
          which === "undo" ? "This cannot be taken back" : "This cannot be done again",
          reason,
        );
        return null;
      }
    },
  };
}

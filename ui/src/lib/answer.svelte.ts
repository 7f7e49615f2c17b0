// A question to the engine and where its answer stands.
import { asFault } from "./backend/backend";
import type { ErrorDto } from "./types/ErrorDto";

export interface Asked<T> {
  /** The last answer; it stays while a newer one is awaited, so that nothing flickers. */
  readonly value: T | null;
  /** Why the last question was refused. */
  readonly fault: ErrorDto | null;
  /** Whether an answer is awaited. */
  readonly waiting: boolean;
  /** Ask, dropping the answers to earlier questions that are still under way. */
  ask(question: () => Promise<T>): void;
}

/** A place for the answers to one kind of question. */
export function asked<T>(): Asked<T> {
  let value = $state.raw<T | null>(null);
  let fault = $state.raw<ErrorDto | null>(null);
  let waiting = $state(false);
  let turn = 0;
  async function settle(question: () => Promise<T>): Promise<void> {
    turn += 1;
    const mine = turn;
    waiting = true;
    try {
      const answer = await question();
      if (mine !== turn) return;
      value = answer;
      fault = null;
    } catch (reason) {
      if (mine !== turn) return;
      fault = asFault(reason);
    }
    waiting = false;
  }
  return {
    get value() {
      return value;
    },
    get fault() {
      return fault;
    },
    get waiting() {
      return waiting;
    },
    ask(question) {
      void settle(question);
    },
  };
}

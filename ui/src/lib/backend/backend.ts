// One interface to the engine: the window and the tests answer through it.
import type { ErrorDto } from "../types/ErrorDto";
import type { Command, Commands } from "./commands";

/** A function for each command. A refusal rejects with an `ErrorDto`. */
export type Backend = {
  [C in Command]: (request: Commands[C]["request"]) => Promise<Commands[C]["answer"]>;
};

/** What a rejected call carried, as an error object in any case. */
export function asFault(reason: unknown): ErrorDto {
  if (typeof reason === "object" && reason !== null && "code" in reason && "message" in reason) {
    return reason as ErrorDto;
  }
  const message = reason instanceof Error ? reason.message : String(reason);
  return { code: "window", message, where: "", accepted: "" };
}

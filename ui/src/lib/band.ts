// The band as typed, and as asked.
import type { StartBand } from "./backend/commands";
import type { BandRequest } from "./types/BandRequest";

/** What the fields of the band hold. */
export interface BandForm {
  low: string;
  high: string;
  /** Empty for all kinds. */
  kind: string;
  /** What the fields of the weights hold, by subsystem; null for the catalogue's own weights. */
  weights: Record<string, string> | null;
}

/** The fields as they are before anybody has typed. */
export function bandForm({ low, high, kind }: StartBand): BandForm {
  const text = (edge: number | null) => (edge === null ? "" : String(edge));
  return { low: text(low), high: text(high), kind: kind ?? "", weights: null };
}

/** The edges that an address such as `200..500` names; null when it names none. */
export function edgesOf(band: string | undefined): Pick<BandForm, "low" | "high"> | null {
  const match = /^(\d{0,9})\.\.(\d{0,9})$/.exec(band ?? "");
  return match === null ? null : { low: match[1] ?? "", high: match[2] ?? "" };
}

/** A whole amount as typed: null for an open end, undefined when it is no such number. */
export function parseAmount(text: string): number | null | undefined {
  const plain = text.trim();
  if (plain === "") return null;
  return /^\d{1,9}$/.test(plain) ? Number(plain) : undefined;
}

/** A weight as typed; undefined when it is none. Only what weights are to each other counts. */
export function parseWeight(text: string): number | undefined {
  const plain = text.trim();
  return /^\d{1,6}(\.\d+)?$/.test(plain) ? Number(plain) : undefined;
}

/** Shares of the index as somebody would type them, in points of 100. */
export function weightTexts(shares: Record<string, number>): Record<string, string> {
  const text = (share: number) => String(Math.round(share * 1000) / 10);
  return Object.fromEntries(Object.entries(shares).map(([id, share]) => [id, text(share)]));
}

/** The weights as typed; undefined when one is no number, or when none is above 0. */
export function parseWeights(texts: Record<string, string>): Record<string, number> | undefined {
  const weights: Record<string, number> = {};
  for (const [subsystem, text] of Object.entries(texts)) {
    const weight = parseWeight(text);
    if (weight === undefined) return undefined;
    weights[subsystem] = weight;
  }
  return Object.values(weights).some((it) => it > 0) ? weights : undefined;
}

/** The request that the fields make; null when a field is not a number. */
export function requestOf(form: BandForm): BandRequest | null {
  const low = parseAmount(form.low);
  const high = parseAmount(form.high);
  const weights = form.weights === null ? null : parseWeights(form.weights);
  if (low === undefined || high === undefined || weights === undefined) return null;
  const kind = form.kind === "" ? null : form.kind;
  // How many draws, from which seed and on how many cores is the engine's own choice.
  return { low, high, kind, weights, draws: null, seed: null, kappa: null, threads: null };
}

/** The band in words. */
export function bandInWords(low: number | null, high: number | null): string {
  if (low === null && high === null) return "any price";
  if (low === null) return `below ${String(high)}`;
  return high === null ? `${String(low)} and more` : `${String(low)} to ${String(high)}`;
}

// The band as typed, and as asked.
import type { BandRequest } from "./types/BandRequest";

/** What the fields of the band hold. */
export interface BandForm {
  low: string;
  high: string;
  /** Empty for all kinds. */
  kind: string;
}

/** The band that is shown first. */
export function emptyBandForm(): BandForm {
  return { low: "200", high: "500", kind: "" };
}

/** A whole amount as typed: null for an open end, undefined when it is no such number. */
export function parseAmount(text: string): number | null | undefined {
  const plain = text.trim();
  if (plain === "") return null;
  return /^\d{1,9}$/.test(plain) ? Number(plain) : undefined;
}

/** The request that the fields make; null when a field is not a number. */
export function requestOf(form: BandForm): BandRequest | null {
  const low = parseAmount(form.low);
  const high = parseAmount(form.high);
  if (low === undefined || high === undefined) return null;
  return { low, high, kind: form.kind === "" ? null : form.kind, weights: null };
}

/** The band in words. */
export function bandInWords(low: number | null, high: number | null): string {
  if (low === null && high === null) return "any price";
  if (low === null) return `below ${String(high)}`;
  return high === null ? `${String(low)} and more` : `${String(low)} to ${String(high)}`;
}

// What the fields of a publication hold, and what they ask for.
import type { BandRequest } from "./types/BandRequest";
import type { Definition } from "./types/Definition";
import type { PublishRequest } from "./types/PublishRequest";

export interface PublishForm {
  /** The definition; null until the engine has said with which one the guide goes on or begins. */
  definition: Definition | null;
  /** The formats that are written. */
  formats: string[];
  folder: string;
  replace: boolean;
}

export function emptyPublishForm(): PublishForm {
  return { definition: null, formats: [], folder: "", replace: false };
}

/** The request. */
export function publicationOf(
  band: BandRequest,
  form: PublishForm,
  how: { draft: boolean; write: boolean },
): PublishRequest {
  return {
    band,
    definition: form.definition,
    to: how.write && form.folder.trim() !== "" ? form.folder.trim() : null,
    formats: form.formats,
    replace: form.replace,
    draft: how.draft,
  };
}

/** A list with one entry moved by so many places; the same list where it would leave it. */
export function moved<T>(list: readonly T[], at: number, by: number): T[] {
  const to = at + by;
  const copy = [...list];
  if (to < 0 || to >= list.length) return copy;
  copy.splice(to, 0, ...copy.splice(at, 1));
  return copy;
}

/** The points of the disclosure that only a person knows, in the order in which they are printed. */
export const DISCLOSURE: { key: keyof Definition["disclosure"]; label: string }[] = [
  { key: "chosen", label: "How products were chosen" },
  { key: "market", label: "Market or country" },
  { key: "known", label: "How many are known to exist" },
  { key: "left_out", label: "Left out, and why" },
  { key: "bought", label: "When the specimens were bought" },
  { key: "instruments", label: "Instruments" },
  { key: "tax_and_shipping", label: "Tax and shipping in the prices" },
  { key: "paid_by", label: "Who paid" },
  { key: "gifts", label: "Gifts and loans" },
  { key: "affiliate", label: "Links that earn money" },
];

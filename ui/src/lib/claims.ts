// A claim as it is chosen, and the text that the engine reads.
import type { ClaimForms } from "./types/ClaimForms";
import type { ClaimKindDto } from "./types/ClaimKindDto";

/** One comparison of a property. */
export interface Comparison {
  of: string;
  operator: string;
  value: string;
}

/** Comparisons that all hold, or of which any does. */
export interface PropertyForm {
  join: "and" | "or";
  rows: Comparison[];
}

/** What is chosen and typed. What the kind does not take stays for when it does. */
export interface ClaimForm {
  kind: string;
  product: string;
  than: string;
  of: string;
  where: PropertyForm;
  count: string;
  limit: string;
  population: string;
  low: string;
  high: string;
  only: string;
  among: PropertyForm;
  /** The claim as text, where it is typed and not chosen; null while it is chosen. */
  text: string | null;
  wording: string;
  author: string;
  /** The stored claim whose place it takes. */
  replaces: number | null;
}

export function blankComparison(): Comparison {
  return { of: "", operator: "=", value: "" };
}

export function emptyClaimForm(): ClaimForm {
  return {
    kind: "best",
    product: "",
    than: "",
    of: "score",
    where: { join: "and", rows: [blankComparison()] },
    count: "",
    limit: "",
    population: "opened",
    low: "",
    high: "",
    only: "",
    among: { join: "and", rows: [] },
    text: null,
    wording: "",
    author: "",
    replaces: null,
  };
}

/** A value as a claim holds it: between quotes where it has blanks. */
function quoted(value: string): string {
  return /[\s"\\]/.test(value)
    ? `"${value.replaceAll("\\", "\\\\").replaceAll('"', '\\"')}"`
    : value;
}

/** A property as text; null while a comparison is not complete. */
function property(form: PropertyForm): string | null {
  const terms = form.rows.map(({ of, operator, value }) => {
    const typed = value.trim().replaceAll("'", "");
    if (of === "" || typed === "") return null;
    const plain = !/[()=<>]|(^| )(and|or)( |$)/.test(typed);
    return `${of} ${operator} ${plain ? typed : `'${typed}'`}`;
  });
  if (terms.length === 0 || terms.some((it) => it === null)) return null;
  return terms.join(` ${form.join} `);
}

/** The kind that is chosen. */
export function kindOf(form: ClaimForm, forms: ClaimForms): ClaimKindDto | undefined {
  return forms.kinds.find((it) => it.word === form.kind);
}

/** Whether the kind takes a key. */
export function takes(kind: ClaimKindDto | undefined, key: string): boolean {
  return kind?.keys.some((it) => it.key === key) ?? false;
}

/** The claim as text; null while something that it needs is not chosen. */
export function statementOf(form: ClaimForm, forms: ClaimForms): string | null {
  if (form.text !== null) return form.text.trim() === "" ? null : form.text.trim();
  const kind = kindOf(form, forms);
  if (kind === undefined) return null;
  const values: Record<string, string | null> = {
    product: form.product,
    than: form.than,
    of: form.of,
    where: property(form.where),
    count: form.count.trim(),
    limit: form.limit.trim(),
    population: form.population,
  };
  const words = [kind.word];
  for (const { key, needed } of kind.keys) {
    const value = values[key] ?? "";
    if (value !== "") words.push(`${key}=${quoted(value)}`);
    else if (needed) return null;
  }
  const [low, high] = [form.low.trim(), form.high.trim()];
  if (low !== "" || high !== "") words.push(`band=${low}..${high}`);
  if (form.only !== "") words.push(`kind=${form.only}`);
  if (form.among.rows.length > 0) {
    const among = property(form.among);
    if (among === null) return null;
    words.push(`among=${quoted(among)}`);
  }
  return words.join(" ");
}

/** The verdicts in the order of a list: what needs work first. */
export const VERDICTS = [
  "contradicted",
  "depends on inferred findings",
  "not supported",
  "too few data",
  "supported",
] as const;

/** The place of a verdict in that order. */
export function gravity(verdict: string): number {
  const at = (VERDICTS as readonly string[]).indexOf(verdict);
  return at < 0 ? VERDICTS.length : at;
}

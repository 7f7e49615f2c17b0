// Numbers, money and dates as people read them.

/** The language of numbers. Under a bare `C` locale the web view reports a name that `Intl` refuses. */
export function usableLocale(reported: string): string {
  try {
    return Intl.getCanonicalLocales(reported)[0] ?? "en";
  } catch {
    return "en";
  }
}

// The text is English; a bare `en` would write American dates, but dates are written as ISO days here.
const locale = usableLocale(typeof navigator === "undefined" ? "en" : navigator.language);

const whole = new Intl.NumberFormat(locale, { maximumFractionDigits: 0 });
const oneDecimal = new Intl.NumberFormat(locale, {
  minimumFractionDigits: 1,
  maximumFractionDigits: 1,
});
const finePercents = new Intl.NumberFormat(locale, {
  style: "percent",
  minimumFractionDigits: 1,
  maximumFractionDigits: 1,
});
const twoDecimals = new Intl.NumberFormat(locale, {
  minimumFractionDigits: 2,
  maximumFractionDigits: 2,
});
const percents = new Intl.NumberFormat(locale, { style: "percent", maximumFractionDigits: 0 });
const significant = new Intl.NumberFormat(locale, { maximumSignificantDigits: 4 });

/** A whole number. */
export function count(value: number): string {
  return whole.format(value);
}

/** An amount of money without its currency, which the column's head names. */
export function amount(value: number): string {
  return whole.format(value);
}

/** A score or an index, 0 to 100. */
export function score(value: number): string {
  return oneDecimal.format(value);
}

/** A share, 0 to 1, in whole percent. Cut, not rounded: only what is whole says 100 %. */
export function percent(share: number): string {
  // 0.29 is a little less than 29 hundredths in binary; that must not cost it a percent.
  return percents.format(Math.floor(share * 100 + 1e-9) / 100);
}

/** A small share, 0 to 1, in percent with one decimal. */
export function finePercent(share: number): string {
  return finePercents.format(share);
}

/** A probability in whole percent. Draws never settle anything wholly, so it is never 0 or 100. */
export function chance(p: number): string {
  if (p < 0.01) return `<${percents.format(0.01)}`;
  return p > 0.99 ? `>${percents.format(0.99)}` : percents.format(p);
}

/** Points above or below something, whole: what they are taken from is itself uncertain by some points. */
export function signed(value: number): string {
  const rounded = Math.round(value);
  if (rounded === 0) return whole.format(0);
  return rounded < 0 ? minus(whole.format(rounded)) : `+${whole.format(rounded)}`;
}

/** A share of the weight in points of 100: one decimal below ten. */
export function weightPoints(share: number): string {
  const points = share * 100;
  return points < 9.95 ? oneDecimal.format(points) : whole.format(points);
}

/** Pairs of products that something settles. */
export function pairs(value: number): string {
  return twoDecimals.format(value);
}

/** A minus as long as a plus, and not a hyphen. */
function minus(text: string): string {
  return text.replace("-", "\u2212");
}

/** A measured number. Small and large ones are written with a power of ten, as on a bench sheet. */
export function measure(value: number): string {
  const size = Math.abs(value);
  if (value !== 0 && (size < 0.001 || size >= 1e6)) {
    const [mantissa = "", exponent = ""] = value.toExponential(3).split("e");
    return `${minus(significant.format(Number(mantissa)))} × 10${superscript(Number(exponent))}`;
  }
  return minus(significant.format(value));
}

function superscript(exponent: number): string {
  const digits = "⁰¹²³⁴⁵⁶⁷⁸⁹";
  const raised = String(Math.abs(exponent)).replace(/\d/g, (it) => digits.charAt(Number(it)));
  return exponent < 0 ? `⁻${raised}` : raised;
}

/** A shown quantity such as `55.90 ± 0.30 Hz`, taken apart for columns. What is written otherwise stays whole. */
export function parted(shown: string): { value: string; spread: string; unit: string } {
  const match = /^(\S+)(?:\s±\s(\S+))?(?:\s([^\s×]+))?$/u.exec(shown);
  const [, value = shown, spread = "", unit = ""] = match ?? [];
  return { value, spread, unit };
}

/** A range with an en dash. */
export function range(low: string, high: string): string {
  return `${low}–${high}`;
}

/** An age in days, in the coarsest unit that still says something. */
export function age(days: number): string {
  if (days < 0) return "dated later";
  if (days < 1) return "today";
  if (days < 60) return days === 1 ? "1 day" : `${whole.format(days)} days`;
  const months = Math.floor(days / 30.44);
  if (months < 24) return `${whole.format(months)} months`;
  return `${whole.format(Math.floor(days / 365.25))} years`;
}

/** `1 product`, `2 products`. */
export function plural(n: number, one: string, many = `${one}s`): string {
  return `${whole.format(n)} ${n === 1 ? one : many}`;
}

/** A word of the catalogue with its first letter raised, for headings. */
export function heading(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

// Things by what they belong to, in the order in which each group is first met.
import { heading } from "./format";

/** The groups with their members. */
export function grouped<T>(things: T[], belongs: (thing: T) => string): [string, T[]][] {
  const groups = new Map<string, T[]>();
  for (const thing of things) {
    const key = belongs(thing);
    const members = groups.get(key);
    if (members) members.push(thing);
    else groups.set(key, [thing]);
  }
  return [...groups];
}

/** An address such as `woofer.fs`, as part and key. The key itself may hold dots; a place that is no finding has no part. */
export function split(address: string): { part: string; key: string } {
  const dot = address.indexOf(".");
  return dot < 0
    ? { part: "", key: address }
    : { part: address.slice(0, dot), key: address.slice(dot + 1) };
}

const titles: Record<string, string> = {
  whole: "The product as a whole",
  load: "Load on the amplifier",
};

/** A part or subject, for headings. */
export function title(part: string): string {
  return titles[part] ?? heading(part);
}

// Which marks of a scatter can carry their name without covering anything.

export interface Box {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

export interface Wanted {
  /** What it says, best first: a shorter one is taken where there is no room for a longer one. */
  texts: string[];
  /** What the label stands beside. */
  mark: Box;
}

export interface Label {
  text: string;
  x: number;
  y: number;
  anchor: "start" | "end" | "middle";
}

const HEIGHT = 15;
const AWAY = 6;
const STEP = 16;

/** Whether two boxes overlap. */
export function meets(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/** Boxes along a line, each as high as the line rises in it. */
export function along(points: { x: number; y: number }[]): Box[] {
  return points.slice(1).flatMap((to, index) => {
    const from = points[index] ?? to;
    const steps = Math.max(1, Math.ceil(Math.abs(to.x - from.x) / STEP));
    const at = (step: number) => ({
      x: from.x + ((to.x - from.x) * step) / steps,
      y: from.y + ((to.y - from.y) * step) / steps,
    });
    return Array.from({ length: steps }, (_, step) => {
      const [a, b] = [at(step), at(step + 1)];
      return {
        left: Math.min(a.x, b.x) - 1,
        right: Math.max(a.x, b.x) + 1,
        top: Math.min(a.y, b.y) - 1,
        bottom: Math.max(a.y, b.y) + 1,
      };
    });
  });
}

/** Where a label may stand: beside the middle of its mark, above, below, then beside its ends. */
function placesOf(text: string, mark: Box): Label[] {
  const middle = (mark.top + mark.bottom) / 2;
  const centre = (mark.left + mark.right) / 2;
  const beside = (y: number): Label[] => [
    { text, x: mark.right + AWAY, y, anchor: "start" },
    { text, x: mark.left - AWAY, y, anchor: "end" },
  ];
  return [
    ...beside(middle),
    { text, x: centre, y: mark.top - AWAY - HEIGHT / 2, anchor: "middle" },
    { text, x: centre, y: mark.bottom + AWAY + HEIGHT / 2, anchor: "middle" },
    ...beside(mark.top),
    ...beside(mark.bottom),
  ];
}

/**
 * A place for each label that finds one, first come first served, else null. `width` gives the length of a text,
 * `inside` the area that labels stay within, `kept` what else is to stay free; no label covers a mark or another label. Of
 * the places of a label the first that crosses none of `lines` is taken, and the first of all where each crosses one.
 */
export function placeLabels(
  wanted: Wanted[],
  inside: Box,
  width: (text: string) => number,
  kept: Box[] = [],
  lines: Box[] = [],
): (Label | null)[] {
  const taken: Box[] = [...wanted.map((it) => it.mark), ...kept];
  return wanted.map(({ texts, mark }) => {
    for (const text of texts) {
      const long = width(text);
      const fitting = placesOf(text, mark).flatMap((place) => {
        const left =
          place.anchor === "start"
            ? place.x
            : place.anchor === "end"
              ? place.x - long
              : place.x - long / 2;
        const box = {
          left: left - 2,
          right: left + long + 2,
          top: place.y - HEIGHT / 2,
          bottom: place.y + HEIGHT / 2,
        };
        const within =
          box.left >= inside.left &&
          box.right <= inside.right &&
          box.top >= inside.top &&
          box.bottom <= inside.bottom;
        const free = within && !taken.some((it) => it !== mark && meets(it, box));
        return free ? [{ place, box }] : [];
      });
      const best = fitting.find(({ box }) => !lines.some((it) => meets(it, box))) ?? fitting[0];
      if (best !== undefined) {
        taken.push(best.box);
        return best.place;
      }
    }
    return null;
  });
}

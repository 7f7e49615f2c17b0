// The products that are pinned, to be put side by side.

/** As many as fit beside each other. */
export const MOST_PINS = 5;
/** One alone is no comparison. */
export const LEAST_PINS = 2;

export interface Pins {
  /** Keys in the order in which they were pinned. */
  products: string[];
}

export function noPins(): Pins {
  return { products: [] };
}

/** Pins a product or lets it go; false when there is no room for one more. */
export function turnPin(pins: Pins, product: string): boolean {
  if (pins.products.includes(product)) {
    pins.products = pins.products.filter((it) => it !== product);
    return true;
  }
  if (pins.products.length >= MOST_PINS) return false;
  pins.products = [...pins.products, product];
  return true;
}

/** The product that an element of the page is about. */
export function productOf(target: EventTarget | null): string | null {
  if (!(target instanceof Element)) return null;
  return target.closest("[data-product]")?.getAttribute("data-product") ?? null;
}

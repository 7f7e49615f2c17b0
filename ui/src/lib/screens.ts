// The one table of screens: the masthead, the keys and the frame follow it.
import type { Component } from "svelte";
import type { Backend } from "./backend/backend";
import type { Keep } from "./kept.svelte";
import type { Route } from "./route.svelte";
import type { ScreenId } from "./screen-ids";
import type { ProductList } from "./types/ProductList";

/** What each screen is given. */
export interface ScreenProps {
  backend: Backend;
  /** What is on the shelf; a new object after each change of the catalogue. */
  list: ProductList;
  /** What the address asks to be shown. */
  route: Route;
  /** Where a screen keeps what was typed while another screen is shown. */
  keep: Keep;
  /** The place that was shown before a screen which is opened from another one. */
  back: Route;
}

export interface Screen {
  title: string;
  /** With Alt, and the place in the masthead; null for a screen that is opened from another one. */
  digit: number | null;
  /** The screen that the masthead marks while this one is shown. */
  within: ScreenId;
  /** Whether it is of use before the catalogue holds a product. */
  empty: boolean;
  load: () => Promise<{ default: Component<ScreenProps> }>;
}

export const SCREENS: Record<ScreenId, Screen> = {
  catalogue: {
    title: "Catalogue",
    digit: 1,
    within: "catalogue",
    empty: false,
    load: () => import("../views/Catalogue.svelte"),
  },
  product: {
    title: "Product",
    digit: null,
    within: "catalogue",
    empty: false,
    load: () => import("../views/Product.svelte"),
  },
  bench: {
    title: "Bench",
    digit: 2,
    within: "bench",
    empty: true,
    load: () => import("../views/Bench.svelte"),
  },
  band: {
    title: "Band",
    digit: 3,
    within: "band",
    empty: false,
    load: () => import("../views/Band.svelte"),
  },
  claims: {
    title: "Claims",
    digit: 4,
    within: "claims",
    empty: false,
    load: () => import("../views/Claims.svelte"),
  },
};

export interface Place {
  id: ScreenId;
  title: string;
  digit: number;
}

/** The screens with a place in the masthead, in its order. */
export const PLACES: Place[] = (Object.entries(SCREENS) as [ScreenId, Screen][])
  .flatMap(([id, { title, digit }]) => (digit === null ? [] : [{ id, title, digit }]))
  .sort((a, b) => a.digit - b.digit);

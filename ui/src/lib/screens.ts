// The one table of screens: the masthead, the keys and the frame follow it.
import type { Component } from "svelte";
import type { Backend } from "./backend/backend";
import type { Status } from "./backend/commands";
import type { Keep } from "./kept.svelte";
import type { Route } from "./route.svelte";
import type { ScreenId } from "./screen-ids";
import type { ProductList } from "./types/ProductList";

/** What each screen is given. */
export interface ScreenProps {
  backend: Backend;
  /** Which file is open, and whether it can be read. */
  status: Status;
  /** What is on the shelf; a new object after each change of the catalogue. Empty where `needs` is not `products`. */
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
  /** What must be there for it to be of use. */
  needs: "products" | "catalogue" | "nothing";
  load: () => Promise<{ default: Component<ScreenProps> }>;
}

export const SCREENS: Record<ScreenId, Screen> = {
  catalogue: {
    title: "Catalogue",
    digit: 1,
    within: "catalogue",
    needs: "products",
    load: () => import("../views/Catalogue.svelte"),
  },
  product: {
    title: "Product",
    digit: null,
    within: "catalogue",
    needs: "products",
    load: () => import("../views/Product.svelte"),
  },
  bench: {
    title: "Bench",
    digit: 2,
    within: "bench",
    needs: "catalogue",
    load: () => import("../views/Bench.svelte"),
  },
  band: {
    title: "Band",
    digit: 3,
    within: "band",
    needs: "products",
    load: () => import("../views/Band.svelte"),
  },
  claims: {
    title: "Claims",
    digit: 4,
    within: "claims",
    needs: "products",
    load: () => import("../views/Claims.svelte"),
  },
  publish: {
    title: "Publish",
    digit: 5,
    within: "publish",
    needs: "products",
    load: () => import("../views/Publish.svelte"),
  },
  plugins: {
    title: "Plugins",
    digit: 6,
    within: "plugins",
    needs: "catalogue",
    load: () => import("../views/Plugins.svelte"),
  },
  file: {
    title: "Catalogue file",
    digit: null,
    within: "file",
    needs: "nothing",
    load: () => import("../views/CatalogueFile.svelte"),
  },
  keys: {
    title: "Keys",
    digit: null,
    within: "keys",
    needs: "nothing",
    load: () => import("../views/Keys.svelte"),
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

// What is shown, kept in the address so that going back works.
import { isScreen, START, type ScreenId } from "./screen-ids";

/** A screen and what it shows. What a screen does not use is absent. */
export interface Route {
  screen: ScreenId;
  /** `maker/model` as ids. */
  product?: string;
  /** The label of a specimen of that product. */
  specimen?: string;
  /** The day of a teardown, `YYYY-MM-DD`. */
  date?: string;
  /** A price band, `LOW..HIGH` with either end open. */
  band?: string;
  /** The id of the heading to go to. */
  section?: string;
}

const DETAILS = ["specimen", "date", "band", "section"] as const;

/** A part of an address as it was before it was escaped; as it is, when somebody typed nonsense. */
function plain(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** The screen that an address names; the band, the end of the job, when it names none. */
export function parse(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?", 2);
  const [first = "", ...rest] = path.split("/").map(plain);
  const route: Route = { screen: isScreen(first) ? first : START };
  if (route.screen === first && rest.length > 0) route.product = rest.join("/");
  // A sheet is always one of a product.
  if (route.screen === "product" && !route.product) return { screen: START };
  for (const pair of query.split("&")) {
    const [name = "", value = ""] = pair.split("=", 2).map(plain);
    const key = DETAILS.find((it) => it === name);
    if (key !== undefined && value !== "") route[key] = value;
  }
  return route;
}

/** The address of a place. */
export function address(route: Route): string {
  const product = route.product?.split("/").map((it) => `/${encodeURIComponent(it)}`) ?? [];
  const details = DETAILS.filter((key) => route[key]).map(
    (key) => `${key}=${encodeURIComponent(route[key] ?? "")}`,
  );
  const query = details.length > 0 ? `?${details.join("&")}` : "";
  return `#/${route.screen}${product.join("")}${query}`;
}

/** Goes to a place; the way back leads here. */
export function go(route: Route): void {
  const to = address(route);
  if (location.hash !== to) location.hash = to;
  // The same place again: the focus goes there all the same.
  else dispatchEvent(new HashChangeEvent("hashchange"));
}

/** Puts a place in the stead of the current one, where going back should not pass through each change. */
export function settle(route: Route): void {
  history.replaceState(null, "", address(route));
  // Replacing tells nobody by itself.
  dispatchEvent(new HashChangeEvent("hashchange"));
}

/** The current place. Starts a listener that lives as long as the page. */
export function followAddress(): { readonly route: Route } {
  let route = $state.raw(parse(location.hash));
  $effect(() => {
    const follow = () => {
      route = parse(location.hash);
    };
    addEventListener("hashchange", follow);
    return () => {
      removeEventListener("hashchange", follow);
    };
  });
  return {
    get route() {
      return route;
    },
  };
}

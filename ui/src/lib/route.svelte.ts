// Which screen is shown, kept in the address so that going back works.

export type Route =
  { screen: "catalogue" } | { screen: "product"; product: string } | { screen: "band" };

/** The screen that an address names; the band, the end of the job, when it names none. */
export function parse(hash: string): Route {
  const path = hash.replace(/^#\/?/, "");
  const product = /^product\/(.+)$/.exec(path)?.[1];
  if (product !== undefined) return { screen: "product", product: decodeURIComponent(product) };
  return path === "catalogue" ? { screen: "catalogue" } : { screen: "band" };
}

/** The address of a screen. */
export function address(route: Route): string {
  if (route.screen === "product") {
    return `#/product/${route.product.split("/").map(encodeURIComponent).join("/")}`;
  }
  return `#/${route.screen}`;
}

/** The current screen. Starts a listener that lives as long as the page. */
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

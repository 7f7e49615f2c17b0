// What was typed on a screen stays while another screen is shown.

/** The state of that name; `first` makes it when it is asked for the first time. */
export type Keep = <T extends object>(name: string, first: () => T) => T;

/** A place to keep states; one for each page. */
export function keeper(): Keep {
  const all: Partial<Record<string, object>> = {};
  return <T extends object>(name: string, first: () => T): T => {
    const there = all[name];
    if (there !== undefined) return there as T;
    const made = $state(first());
    all[name] = made;
    return made;
  };
}

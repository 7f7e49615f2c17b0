// What was typed on a screen stays while another screen is shown.

/** The state of that name; `first` makes it when it is asked for the first time. */
export type Keep = <T extends object>(name: string, first: () => T) => T;

/** A place to keep states; one for each page. */
export function keeper(): Keep {
  const all: Partial<Record<string, object>> = {};
  return <T extends object>(name: string, first: () => T): T => {
    const there = all[name];
    if (there !== undefined) return there as T;
    const state = $state(first());
    const made = shared(state);
    all[name] = made;
    return made;
  };
}

/**
 * The fields of a state, to be read and written by whoever is given them. A state itself belongs to the component that
 * made it, and Svelte warns of others who write to it; a kept one belongs to none.
 */
function shared<T extends object>(state: T): T {
  const fields = (Object.keys(state) as (keyof T)[]).map((key): [keyof T, PropertyDescriptor] => [
    key,
    {
      enumerable: true,
      get: () => state[key],
      set: (value: T[typeof key]) => {
        state[key] = value;
      },
    },
  ]);
  return Object.defineProperties<T>({} as T, Object.fromEntries(fields));
}

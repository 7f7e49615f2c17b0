// Tests hold state that components change, as the page does.

/** The same object, followed by what reads it. */
export function reactive<T extends object>(value: T): T {
  const state = $state(value);
  return state;
}

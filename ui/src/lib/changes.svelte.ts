// The shared way to say that the catalogue changed. A screen that reads `changes.count` in an effect asks anew.

let count = $state(0);

export const changes = {
  /** Rises with each change, and when the window is returned to: another program may have written. */
  get count() {
    return count;
  },
};

/** To be called after each command that wrote to the catalogue. */
export function changed(): void {
  count += 1;
}

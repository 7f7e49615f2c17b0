// Work that follows something moving, such as a weight that is slid: one piece at a time, and the newest state next. Asking
// at every move would queue questions whose answers nobody waits for any more.

/** Calls `work` now, or, while it is under way, once more when it ends, however often it was called meanwhile. */
export function following(work: () => Promise<void>): () => void {
  let running = false;
  let moves = 0;
  async function run(): Promise<void> {
    running = true;
    try {
      for (let seen = -1; seen !== moves;) {
        seen = moves;
        await work();
      }
    } finally {
      running = false;
    }
  }
  return () => {
    moves += 1;
    if (!running) void run();
  };
}

/** When the page has been painted once more; a window that is not seen paints nothing, and is not waited for. */
export function painted(): Promise<void> {
  return new Promise((resolve) => {
    requestAnimationFrame(() => setTimeout(resolve));
    setTimeout(resolve, 200);
  });
}

// What jsdom lacks: it lays nothing out, so there is never a size to report and nowhere to scroll.
import "@testing-library/jest-dom/vitest";

class NoResize implements ResizeObserver {
  observe(): void {
    return;
  }
  unobserve(): void {
    return;
  }
  disconnect(): void {
    return;
  }
}
globalThis.ResizeObserver = NoResize;
Element.prototype.scrollIntoView = () => undefined;

// The names of the screens as addresses hold them; what each one is stands in `screens.ts`.

export const SCREEN_IDS = [
  "catalogue",
  "product",
  "bench",
  "band",
  "claims",
  "publish",
  "plugins",
  "file",
  "keys",
] as const;

export type ScreenId = (typeof SCREEN_IDS)[number];

/** The screen that is shown when an address names none: the end of the job. */
export const START: ScreenId = "band";

export function isScreen(text: string): text is ScreenId {
  return (SCREEN_IDS as readonly string[]).includes(text);
}

// Photos by keyboard: added, looked at, zoomed, described, taken out; what cannot be kept says why.
import { cleanup, fireEvent, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, beforeAll, beforeEach, expect, it, vi } from "vitest";
import { album, photosOf } from "../../lib/album.svelte";
import type { Backend } from "../../lib/backend/backend";
import { hush, said } from "../../lib/say.svelte";
import type { PhotoAddRequest } from "../../lib/types/PhotoAddRequest";
import type { PhotoDto } from "../../lib/types/PhotoDto";
import type { PhotoEditRequest } from "../../lib/types/PhotoEditRequest";
import Strip from "./Strip.svelte";
import Viewer from "./Viewer.svelte";

/** Invented. */
function photo(digit: string, of: string, caption = ""): PhotoDto {
  return {
    sha256: digit.repeat(64),
    short: digit.repeat(8),
    of,
    shows: of.replace(".", ", "),
    specimen: "A",
    date: "2026-11-20",
    caption,
    alt: caption || `Photo without a caption: ${of}`,
    width: 4000,
    height: 3000,
    size: "2.1 MB",
    removed: "location, camera and lens removed",
    location_removed: true,
    missing: false,
    file: `/shelf.boxworth.photos/${digit.repeat(64)}.jpg`,
  };
}

const basket = photo("a", "woofer.basket", "stamped steel basket, seen from behind");
const cone = photo("b", "woofer", "cone");
const coil = photo("c", "crossover", "air coil");

let kept: PhotoDto[];
let added: PhotoAddRequest[];
let edited: PhotoEditRequest[];

beforeAll(() => {
  // jsdom knows the element and not how it opens.
  HTMLDialogElement.prototype.showModal = function () {
    this.open = true;
  };
  Element.prototype.scrollTo = vi.fn();
  HTMLDialogElement.prototype.close = function () {
    this.open = false;
    this.dispatchEvent(new Event("close"));
  };
});

beforeEach(() => {
  kept = [basket, cone, coil];
  added = [];
  edited = [];
});

afterEach(() => {
  cleanup();
  hush();
});

function desk(over: Partial<Backend> = {}) {
  const backend: Partial<Backend> = {
    photos: () =>
      Promise.resolve({
        product: "a/b",
        photos: kept,
        folder: "/shelf.boxworth.photos",
        accepted: "a JPEG, PNG or WebP picture",
        most_bytes: 64,
      }),
    photo: ({ photo: sha256, small }) => {
      const it = kept.find((of) => of.sha256 === sha256);
      if (!it) return Promise.reject(new Error("no such photo"));
      return Promise.resolve({
        photo: it,
        source: `data:image/jpeg;base64,${small ? "AA" : "BB"}`,
      });
    },
    add_photo: (request) => {
      added.push(request);
      const it = photo("d", request.of);
      kept = [...kept, it];
      return Promise.resolve({ product: "a/b", photo: it, was_there: false, changed: true });
    },
    edit_photo: (request) => {
      edited.push(request);
      kept = request.remove
        ? kept.filter((it) => it.sha256 !== request.photo)
        : kept.map((it) =>
            it.sha256 === request.photo ? { ...it, caption: request.caption ?? it.caption } : it,
          );
      return Promise.resolve({ product: "a/b", photo: null, was_there: true, changed: true });
    },
    ...over,
  };
  const changed = vi.fn();
  const of = () => ({ product: "a/b", specimen: "A", date: "2026-11-20" });
  return { album: album(backend as Backend, of, changed), changed };
}

it("knows which photos belong to a part, and which to a finding", () => {
  const of_product = photo("e", "");
  const all = [basket, cone, coil, of_product];
  expect(photosOf(all, "woofer")).toEqual([basket, cone]);
  expect(photosOf(all, "woofer.basket")).toEqual([basket]);
  expect(photosOf(all, "whole")).toEqual([of_product]);
  expect(photosOf(all, "woof")).toEqual([]);
});

it("shows the strip as one stop of the keyboard, each photo under its caption", async () => {
  const user = userEvent.setup();
  const { album } = desk();
  await album.load();
  const onopen = vi.fn();
  render(Strip, { album, of: "woofer", name: "woofer", onopen });
  const list = screen.getByRole("list", { name: "Photos of woofer" });
  expect(await within(list).findByRole("img", { name: basket.caption })).toHaveAttribute(
    "src",
    "data:image/jpeg;base64,AA",
  );
  await user.tab();
  await user.keyboard("{ArrowRight}{Enter}");
  expect(onopen).toHaveBeenCalledWith(cone, [basket, cone]);
});

it("adds what is picked, says what was taken out, and refuses what is too large by itself", async () => {
  const user = userEvent.setup();
  const { album, changed } = desk();
  await album.load();
  render(Strip, { album, of: "woofer.basket", name: "basket", onopen: vi.fn() });
  const small = new File(["abc"], "a.jpg", { type: "image/jpeg" });
  const large = new File(["x".repeat(65)], "b.jpg", { type: "image/jpeg" });
  await user.upload(screen.getByLabelText(/Add photos/), [small, large]);
  await waitFor(() => {
    expect(changed).toHaveBeenCalledOnce();
  });
  // RFC 4648, section 10 has "foobar"; "abc" is YWJj by the same table.
  expect(added.map((it) => [it.of, it.name, it.data])).toEqual([
    ["woofer.basket", "a.jpg", "YWJj"],
  ]);
  expect(said.note).toBe("1 photo of woofer, basket kept; location, camera and lens removed");
  expect(said.faults.map((it) => it.fault.message)).toEqual(["b.jpg takes 1 MiB"]);
});

it("says why the engine does not keep one", async () => {
  const refusal = {
    code: "bad_request",
    message: '"a.heic" is HEIC',
    where: "photo",
    accepted: "JPEG",
  };
  // eslint-disable-next-line @typescript-eslint/prefer-promise-reject-errors -- as the window rejects
  const { album, changed } = desk({ add_photo: () => Promise.reject(refusal) });
  await album.drop(["/tmp/a.heic"], "whole");
  expect(said.faults[0]?.fault.message).toBe('"a.heic" is HEIC');
  expect(changed).not.toHaveBeenCalled();
  expect(album.under).toBe(0);
});

async function viewing() {
  const { album, changed } = desk();
  await album.load();
  const onturn = vi.fn();
  const onclose = vi.fn();
  render(Viewer, { album, photo: basket, among: [basket, cone], onturn, onclose });
  await screen.findByRole("img", { name: basket.caption });
  return { onturn, onclose, changed };
}

const scale = () => Number.parseFloat(screen.getByLabelText("Zoom").textContent);

it("zooms, turns and closes by keys", async () => {
  const { onturn, onclose } = await viewing();
  const room = screen.getByRole("group", { name: /^The picture/ });
  expect(room).toHaveFocus();
  expect(screen.getByRole("img")).toHaveAttribute("src", "data:image/jpeg;base64,BB");
  const fitting = scale();
  await fireEvent.keyDown(room, { key: "+" });
  expect(scale()).toBeGreaterThan(fitting);
  const scrolled = vi.fn();
  room.scrollBy = scrolled;
  await fireEvent.keyDown(room, { key: "ArrowRight" });
  expect(scrolled).toHaveBeenCalledWith(80, 0);
  expect(onturn).not.toHaveBeenCalled();
  await fireEvent.keyDown(room, { key: "0" });
  expect(scale()).toBe(fitting);
  await fireEvent.keyDown(room, { key: "ArrowRight" });
  expect(onturn).toHaveBeenCalledWith(cone);
  await userEvent.setup().click(screen.getByRole("button", { name: /Close/ }));
  expect(onclose).toHaveBeenCalledOnce();
});

it("saves a caption when it is left, and takes a photo out", async () => {
  const user = userEvent.setup();
  const { onclose } = await viewing();
  const field = screen.getByLabelText("Caption");
  await user.clear(field);
  await user.type(field, "cast basket+");
  await user.tab();
  expect(edited.map((it) => it.caption)).toEqual(["cast basket+"]);
  await user.click(screen.getByRole("button", { name: "Take it out" }));
  expect(edited[1]).toMatchObject({ photo: basket.sha256, remove: true });
  expect(onclose).toHaveBeenCalledOnce();
});

it("breaks no rule that can be told without layout", async () => {
  await viewing();
  const found = await axe.run(document.body, {
    rules: { "color-contrast": { enabled: false }, region: { enabled: false } },
  });
  expect(found.violations.map((it) => it.id)).toEqual([]);
});

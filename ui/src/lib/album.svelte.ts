// The photos of a product: one list for all strips, and one place through which photos come, change and go.
import { asFault, type Backend } from "./backend/backend";
import { plural } from "./format";
import { sayDone, sayFault } from "./say.svelte";
import type { ErrorDto } from "./types/ErrorDto";
import type { PhotoAddRequest } from "./types/PhotoAddRequest";
import type { PhotoDto } from "./types/PhotoDto";
import type { PhotoEditRequest } from "./types/PhotoEditRequest";
import type { PhotoList } from "./types/PhotoList";

/** The teardown that is on the bench. */
export interface AlbumOf {
  product: string;
  specimen: string | null;
  date: string | null;
}

export interface Album {
  /** The photos of the teardown and of the product as such. */
  readonly photos: PhotoDto[];
  /** All photos of the product, of whatever teardown. */
  readonly all: PhotoDto[];
  /** Photos that are being saved. */
  readonly under: number;
  readonly fault: ErrorDto | null;
  load(): Promise<void>;
  /** Adds files that were picked. */
  pick(files: File[], of: string): Promise<void>;
  /** Adds files that were dropped on the window, by their full paths. */
  drop(paths: string[], of: string): Promise<void>;
  edit(photo: PhotoDto, what: Partial<PhotoEditRequest>): Promise<boolean>;
  /** A picture as the address of an image. */
  source(photo: PhotoDto, small: boolean): Promise<string>;
}

/** The photos that show a part or anything of it, or exactly a finding. */
export function photosOf(photos: PhotoDto[], of: string): PhotoDto[] {
  const whole = !of.includes(".");
  return photos.filter(
    (it) =>
      it.of === of || (whole && it.of.startsWith(`${of}.`)) || (of === "whole" && it.of === ""),
  );
}

/** The bytes of a file as base64. */
function base64(file: File): Promise<string> {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => {
      const text = typeof reader.result === "string" ? reader.result : "";
      resolve(text.slice(text.indexOf(",") + 1));
    };
    reader.onerror = () => {
      reject(new Error(`${file.name} cannot be read`));
    };
    reader.readAsDataURL(file);
  });
}

export function album(backend: Backend, of: () => AlbumOf, onchange: () => void): Album {
  let list = $state.raw<PhotoList | null>(null);
  let fault = $state.raw<ErrorDto | null>(null);
  let under = $state(0);
  const sources: Partial<Record<string, Promise<string>>> = {};

  async function load(): Promise<void> {
    try {
      list = await backend.photos({ product: of().product });
      fault = null;
    } catch (reason) {
      fault = asFault(reason);
    }
  }

  /** One after another: each is decoded whole. */
  async function add(
    what: string,
    all: { name: string; send: () => Promise<Pick<PhotoAddRequest, "data" | "file">> }[],
  ): Promise<void> {
    under += all.length;
    const added: PhotoDto[] = [];
    // All go where they were meant to, whatever is put on the bench meanwhile.
    const at = of();
    for (const { name, send } of all) {
      try {
        const saved = await backend.add_photo({
          ...at,
          of: what,
          caption: "",
          name,
          reason: "",
          ...(await send()),
        });
        if (saved.photo) added.push(saved.photo);
      } catch (reason) {
        sayFault("This photo is not kept", reason);
      }
      under -= 1;
    }
    const [first] = added;
    if (first === undefined) return;
    const removed = added.length === 1 ? first.removed : "location and all else removed";
    sayDone(`${plural(added.length, "photo")} of ${first.shows} kept; ${removed}`);
    await load();
    onchange();
  }

  return {
    get photos() {
      const at = of();
      return (list?.photos ?? []).filter(
        (it) => it.specimen === null || (it.specimen === at.specimen && it.date === at.date),
      );
    },
    get all() {
      // The answer about the product before may come late.
      return list?.product === of().product ? list.photos : [];
    },
    get under() {
      return under;
    },
    get fault() {
      return fault;
    },
    load,
    async pick(files, what) {
      const most = list?.most_bytes ?? Infinity;
      const fits = files.filter((it) => it.size <= most);
      for (const it of files.filter((file) => file.size > most)) {
        const message = `${it.name} takes ${String(Math.ceil(it.size / 1048576))} MiB`;
        const accepted = list?.accepted ?? "";
        sayFault("This photo is not kept", { code: "bad_request", message, where: "", accepted });
      }
      await add(
        what,
        fits.map((it) => ({
          name: it.name,
          send: async () => ({ data: await base64(it), file: null }),
        })),
      );
    },
    async drop(paths, what) {
      await add(
        what,
        paths.map((path) => ({
          name: path,
          send: () => Promise.resolve({ data: null, file: path }),
        })),
      );
    },
    async edit(photo, what) {
      try {
        const saved = await backend.edit_photo({
          product: of().product,
          photo: photo.sha256,
          caption: null,
          of: null,
          remove: false,
          reason: "",
          ...what,
        });
        if (saved.changed) {
          sayDone(what.remove ? `Taken out: photo of ${photo.shows}` : "Saved: caption");
          await load();
          onchange();
        }
        return true;
      } catch (reason) {
        sayFault("The photo stays as it was", reason);
        return false;
      }
    },
    source(photo, small) {
      const key = `${photo.sha256} ${small ? "small" : "large"}`;
      const kept = sources[key];
      if (kept) return kept;
      const asked = backend
        .photo({ product: of().product, photo: photo.sha256, small })
        .then((it) => it.source);
      // Large ones are asked again: they would fill the memory. So is what could not be read.
      if (small) {
        sources[key] = asked.catch((reason: unknown) => {
          sources[key] = undefined;
          throw reason;
        });
      }
      return sources[key] ?? asked;
    },
  };
}

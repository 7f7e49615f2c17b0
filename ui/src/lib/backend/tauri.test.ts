import { clearMocks, mockIPC } from "@tauri-apps/api/mocks";
import { afterEach, expect, it } from "vitest";
import { asFault } from "./backend";
import { tauriBackend } from "./tauri";

afterEach(() => {
  clearMocks();
});

it("hands the request over under one name", async () => {
  const seen: unknown[] = [];
  mockIPC((command, payload) => {
    seen.push([command, payload]);
    return null;
  });
  const request = {
    low: 200,
    high: null,
    kind: null,
    weights: null,
    draws: null,
    seed: null,
    kappa: null,
    threads: null,
  };
  await tauriBackend.band(request);
  await tauriBackend.next(request);
  await tauriBackend.status({});
  expect(seen).toEqual([
    ["band", { request }],
    ["next", { request }],
    ["status", { request: {} }],
  ]);
});

it("keeps the engine's error object, and makes one of anything else", () => {
  const fault = { code: "bad_request", message: "m", where: "band", accepted: "a" };
  expect(asFault(fault)).toBe(fault);
  expect(asFault("gone").message).toBe("gone");
  expect(asFault(new Error("gone")).message).toBe("gone");
});

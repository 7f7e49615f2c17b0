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
  await tauriBackend.band({ low: 200, high: null, kind: null, weights: null });
  await tauriBackend.status({});
  expect(seen).toEqual([
    ["band", { request: { low: 200, high: null, kind: null, weights: null } }],
    ["status", { request: {} }],
  ]);
});

it("keeps the engine's error object, and makes one of anything else", () => {
  const fault = { code: "bad_request", message: "m", where: "band", accepted: "a" };
  expect(asFault(fault)).toBe(fault);
  expect(asFault("gone").message).toBe("gone");
  expect(asFault(new Error("gone")).message).toBe("gone");
});

// The cross-checks of a sheet on answers made up for the test.
import { cleanup, render, screen } from "@testing-library/svelte";
import { afterEach, expect, it } from "vitest";
import type { CrossCheckDto } from "../../lib/types/CrossCheckDto";
import CrossChecks from "./CrossChecks.svelte";

const check: CrossCheckDto = {
  code: "outside_usual_range",
  severity: "caution",
  subject: "record",
  text: "The port straight length, 6.4 mm, lies outside the usual 60 to 200 mm.",
  addresses: ["cabinet.port_l"],
  z: null,
  offers: ["6.4 in", "6.4 cm", "64 mm"].map((typed) => ({ address: "cabinet.port_l", typed })),
};

function shown(checks: CrossCheckDto[]): HTMLElement {
  return render(CrossChecks, { checks }).container;
}

afterEach(() => {
  cleanup();
});

it("offers readings in their order and says that nothing was changed", () => {
  const text = shown([check]);
  expect(screen.getByRole("listitem")).toHaveTextContent(`caution ${check.text}`);
  expect(text).toHaveTextContent(
    "Readings offered, the likeliest first, for cabinet port_l: 6.4 in, 6.4 cm or 64 mm",
  );
  expect(text).toHaveTextContent("Nothing was changed.");
  expect(text).toHaveTextContent("About the record, from cabinet port_l");
});

it("offers one reading for a place that is no finding", () => {
  const place = "price of 2026-10-09";
  const text = shown([{ ...check, offers: [{ address: place, typed: "each" }] }]);
  expect(text).toHaveTextContent(`Reading offered for ${place}: each`);
});

it("says nothing of offers where there is none", () => {
  const text = shown([{ ...check, subject: "maker", offers: [] }]);
  expect(text).toHaveTextContent("About the maker's statement");
  expect(text).not.toHaveTextContent(/offered|changed/);
});

it("says so when nothing contradicts", () => {
  expect(shown([])).toHaveTextContent("No contradiction among the findings that can be compared.");
  expect(screen.queryByRole("list")).toBeNull();
});

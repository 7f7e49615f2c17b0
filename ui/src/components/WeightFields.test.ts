// The fields of the weights.
import { cleanup, render, screen, waitFor } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { afterEach, expect, it, vi } from "vitest";
import type { Backend } from "../lib/backend/backend";
import { emptyBandForm } from "../lib/band";
import type { RankReport } from "../lib/types/RankReport";
import ranksJson from "../test-fixtures/ranks.json";
import { reactive } from "../test-reactive.svelte";
import WeightFields from "./WeightFields.svelte";

const shares = { cabinet: 0.25, crossover: 0.3, driver: 0.35, wiring: 0.1 };

const ranks: RankReport = ranksJson;

function show() {
  const form = reactive(emptyBandForm());
  const onapply = vi.fn<() => void>();
  const asked = vi.fn(() => Promise.resolve(ranks));
  const backend = { ranks: asked } as unknown as Backend;
  const { rerender } = render(WeightFields, { backend, form, shares, onapply });
  return { form, onapply, asked, rerender };
}

afterEach(() => {
  cleanup();
});

it("shows the weights in force, in points of 100", () => {
  show();
  expect(screen.getByLabelText("Driver")).toHaveValue("35");
  expect(screen.getByRole("button", { name: "Back to the catalogue's" })).toBeDisabled();
});

it("applies once when typing pauses", async () => {
  const user = userEvent.setup();
  const { form, onapply } = show();
  const field = screen.getByLabelText("Cabinet");
  await user.clear(field);
  await user.type(field, "40");
  await waitFor(() => {
    expect(onapply).toHaveBeenCalled();
  });
  expect(form.weights).toEqual({ cabinet: "40", crossover: "30", driver: "35", wiring: "10" });
  expect(onapply).toHaveBeenCalledTimes(1);
  expect(screen.getByText(/^Counted as/)).toBeVisible();
});

it("ranks with each keystroke, until the standings have followed", async () => {
  const user = userEvent.setup();
  const { asked, rerender } = show();
  await user.type(screen.getByLabelText("Cabinet"), "0");
  expect(asked).toHaveBeenCalled();
  const first = ranks.rows[0]?.label ?? "no product";
  expect(await screen.findByText(new RegExp(first))).toBeVisible();
  await rerender({ shares: { ...shares } });
  expect(screen.queryByText(new RegExp(first))).toBeNull();
});

it("applies at once on Enter", async () => {
  const user = userEvent.setup();
  const { onapply } = show();
  await user.type(screen.getByLabelText("Wiring"), "0{Enter}");
  expect(onapply).toHaveBeenCalledTimes(1);
});

it("says at the field what is no weight, and does not ask", async () => {
  const user = userEvent.setup();
  const { onapply } = show();
  const field = screen.getByLabelText("Wiring");
  await user.type(field, "x{Enter}");
  expect(field).toBeInvalid();
  expect(field).toHaveAccessibleDescription(/A number from 0/);
  expect(screen.getByRole("alert")).toBeVisible();
  expect(onapply).not.toHaveBeenCalled();
});

it("counts alike, and goes back to the catalogue's", async () => {
  const user = userEvent.setup();
  const { form, onapply } = show();
  await user.click(screen.getByRole("button", { name: "Count alike" }));
  expect(form.weights).toEqual({ cabinet: "25", crossover: "25", driver: "25", wiring: "25" });
  await user.click(screen.getByRole("button", { name: "Back to the catalogue's" }));
  expect(form.weights).toBeNull();
  expect(onapply).toHaveBeenCalledTimes(2);
});

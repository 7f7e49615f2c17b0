// The fields of the weights.
import { cleanup, fireEvent, render, screen, waitFor } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { afterEach, expect, it, vi } from "vitest";
import { bandForm } from "../lib/band";
import { reactive } from "../test-reactive.svelte";
import WeightFields from "./WeightFields.svelte";

const shares = { cabinet: 0.25, crossover: 0.3, driver: 0.35, wiring: 0.1 };

function show() {
  const form = reactive(bandForm({ low: 200, high: 500, kind: null }));
  const onapply = vi.fn<() => void>();
  const onmove = vi.fn<() => void>();
  render(WeightFields, { form, shares, onmove, onapply });
  return { form, onapply, onmove };
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

it("tells each keystroke that makes weights, and each slide", async () => {
  const user = userEvent.setup();
  const { form, onmove } = show();
  const field = screen.getByLabelText("Cabinet");
  await user.type(field, "0");
  expect(onmove).toHaveBeenCalledTimes(1);
  await user.type(field, "x");
  expect(onmove).toHaveBeenCalledTimes(1);
  const slide = screen.getByRole("slider", { name: "Driver, slide" });
  await fireEvent.input(slide, { target: { value: "60" } });
  expect(form.weights).toMatchObject({ driver: "60" });
  expect(screen.getByLabelText("Driver")).toHaveValue("60");
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

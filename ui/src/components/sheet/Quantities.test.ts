// The computed quantities of a sheet on answers made up for the test.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, expect, it } from "vitest";
import type { QuantityDto } from "../../lib/types/QuantityDto";
import Quantities from "./Quantities.svelte";

const q: QuantityDto = {
  id: "woofer.qts_system",
  label: "woofer total Q",
  si: 0.4395,
  u: 0.0097,
  method: "first order",
  shown: "0.4395\u00a0±\u00a00.0097",
  unit: "",
  from: ["woofer.qes", "woofer.qms", "wiring.wire_len"],
  relations: ["R = 2·ρ·l/A", "Qes' = Qes·(Re + Rg)/Re"],
  shares: [
    { source: "woofer.qes", share: 0.97 },
    { source: "woofer.qms", share: 0.03 },
  ],
  evidence: "inspected",
  assumed: ["part tolerances of 10 %"],
  missing: [],
};
const fb: QuantityDto = {
  ...q,
  id: "system.fb_hz",
  label: "box tuning",
  shown: "45.30\u00a0±\u00a00.50\u00a0Hz",
  unit: "Hz",
  method: "drawn at random",
  from: ["cabinet.fb_measured"],
  relations: [],
  assumed: [],
};
const lacking: QuantityDto = {
  ...q,
  id: "system.v_limit_v",
  label: "voltage at the excursion limit",
  si: null,
  u: null,
  method: "exact",
  shown: "missing",
  from: [],
  relations: [],
  shares: [],
  evidence: null,
  assumed: [],
  missing: ["woofer.xmax"],
};

afterEach(() => {
  cleanup();
});

it("shows the uncertainty without opening anything, subject by subject", () => {
  render(Quantities, { quantities: [q, fb] });
  const table = screen.getByRole("table");
  expect(within(table).getByRole("row", { name: /box tuning/ })).toHaveTextContent(
    "45.30 ± 0.50 Hz",
  );
  expect(within(table).getByRole("row", { name: /total Q/ })).toHaveTextContent("0.4395 ± 0.0097");
  const subjects = within(table).getAllByRole("rowheader", { name: /^(Woofer|System)$/ });
  expect(subjects.map((it) => it.textContent)).toEqual(["Woofer", "System"]);
});

it("opens to relations, shares, assumptions and findings, by keyboard alone", async () => {
  const user = userEvent.setup();
  const { container } = render(Quantities, { quantities: [q, fb] });
  const opener = screen.getByRole("button", { name: /3 findings, 1 assumption.*woofer total Q/ });
  expect(opener).toHaveAttribute("aria-expanded", "false");
  expect(container).not.toHaveTextContent("Uncertainty from");
  await user.tab();
  expect(opener).toHaveFocus();
  await user.keyboard("{Enter}");
  expect(opener).toHaveAttribute("aria-expanded", "true");
  const how = document.getElementById(opener.getAttribute("aria-controls") ?? "");
  expect(how).toHaveTextContent(
    /Uncertainty from 97% woofer\.qes 3% woofer\.qms propagated to first order/,
  );
  for (const text of [...q.relations, ...q.assumed, q.id]) expect(how).toHaveTextContent(text);
  expect(how).toHaveTextContent(/Rests on woofer qes, qms ?wiring wire_len/);
  expect((await axe.run(container)).violations.map((it) => it.id)).toEqual([]);
  await user.keyboard("{Enter}");
  expect(how).not.toBeInTheDocument();
});

it("says how the uncertainty of what was recorded came about", async () => {
  const user = userEvent.setup();
  render(Quantities, { quantities: [fb] });
  await user.click(screen.getByRole("button", { name: /1 finding/ }));
  expect(screen.getByText("taken as it was recorded")).toBeVisible();
  expect(screen.getByText("by drawing inputs at random")).toBeVisible();
});

it("says what is missing when nothing can be computed, or why it does not apply", () => {
  const why = "not applicable: no two ways cross";
  const none = {
    ...lacking,
    id: "crossover.fx_low_hz",
    label: "crossover",
    missing: [],
    shown: why,
  };
  const { container } = render(Quantities, { quantities: [lacking, none] });
  expect(container).toHaveTextContent("Nothing can be computed from these findings yet.");
  expect(screen.getByRole("row", { name: /excursion limit/ })).toHaveTextContent("woofer xmax");
  expect(screen.getByRole("row", { name: /^crossover/ })).toHaveTextContent(why);
  expect(screen.queryByRole("button")).toBeNull();
});

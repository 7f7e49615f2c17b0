// The list of products, long and short, by keyboard.
import { cleanup, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, expect, it } from "vitest";
import { asAnswers, OPEN } from "../test-answers";
import { memoryBackend, type Call } from "../lib/backend/memory";
import { keeper } from "../lib/kept.svelte";
import type { ProductList } from "../lib/types/ProductList";
import productsJson from "../test-fixtures/products.json";
import Catalogue from "./Catalogue.svelte";

const seed: ProductList = productsJson;

/** The seed's rows over and over, each with a model of its own. */
function long(n: number): ProductList {
  const products = Array.from({ length: n }, (_, at) => {
    const row = seed.products[at % seed.products.length];
    if (row === undefined) throw new Error("the seed holds products");
    const number = String(at).padStart(5, "0");
    return { ...row, product: `${row.product}-${number}`, maker: "Maker", model: `No ${number}` };
  });
  return { ...seed, products };
}

function open(list: ProductList): Call[] {
  const calls: Call[] = [];
  const backend = memoryBackend(asAnswers({ products: list }), calls);
  const route = { screen: "catalogue" } as const;
  render(Catalogue, { backend, status: OPEN, list, route, keep: keeper(), back: route });
  return calls;
}

async function violations(): Promise<string[]> {
  const report = await axe.run(document.body, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    rules: { "color-contrast": { enabled: false } },
  });
  return report.violations.map((it) => `${it.id}: ${it.nodes.map((node) => node.html).join(" ")}`);
}

afterEach(() => {
  cleanup();
});

it("draws few of 10,000 rows and says which ones", async () => {
  const user = userEvent.setup();
  open(long(10_000));
  const table = screen.getByRole("table");
  expect(table).toHaveAttribute("aria-rowcount", "10001");
  expect(within(table).getAllByRole("row").length).toBeLessThan(100);
  await user.click(screen.getByLabelText("Filter"));
  await user.keyboard("{ArrowDown}");
  expect(document.activeElement?.closest("tr")).toHaveAttribute("aria-rowindex", "2");
  await user.keyboard("{End}");
  await waitFor(() => {
    expect(document.activeElement?.closest("tr")).toHaveAttribute("aria-rowindex", "10001");
  });
  expect(within(table).getAllByRole("row").length).toBeLessThan(100);
  await user.keyboard("{ArrowUp}{PageUp}{Home}");
  await waitFor(() => {
    expect(document.activeElement?.closest("tr")).toHaveAttribute("aria-rowindex", "2");
  });
  expect(await violations()).toEqual([]);
});

it("has one stop for Tab among the rows", () => {
  open(long(300));
  const links = within(screen.getByRole("table")).getAllByRole("link");
  expect(links.filter((it) => it.getAttribute("tabindex") === "0")).toHaveLength(1);
});

it("says what matches nothing, and shows all again", async () => {
  const user = userEvent.setup();
  open(seed);
  await user.type(screen.getByLabelText("Filter"), "no such thing");
  expect(screen.queryByRole("table")).not.toBeInTheDocument();
  expect(screen.getByText("no such thing")).toBeVisible();
  expect(await violations()).toEqual([]);
  await user.click(screen.getByRole("button", { name: "Show all products" }));
  expect(screen.getByLabelText("Filter")).toHaveFocus();
  expect(screen.getByRole("table")).toHaveAttribute(
    "aria-rowcount",
    String(seed.products.length + 1),
  );
});

it("asks the engine for what only it knows", async () => {
  const user = userEvent.setup();
  const calls = open(seed);
  await user.type(screen.getByLabelText("Lacks"), "cabinet.gasket");
  expect(calls.at(-1)).toMatchObject({
    command: "products",
    request: { missing: "cabinet.gasket", words: null },
  });
  await user.clear(screen.getByLabelText("Lacks"));
  await user.click(screen.getByLabelText("also in findings"));
  await user.type(screen.getByLabelText("Filter"), "loose");
  expect(calls.at(-1)).toMatchObject({ command: "products", request: { words: "loose" } });
});

it("enters a price of the row that has the focus", async () => {
  const user = userEvent.setup();
  const calls = open(seed);
  await user.click(screen.getByLabelText("Filter"));
  await user.keyboard("{ArrowDown}p");
  expect(calls.some((it) => it.command === "prices")).toBe(true);
});

it("asks of a long list about the rows in view alone", async () => {
  const rows = long(300).products.map((it) => ({ ...it, completeness: null }));
  const calls = open({ ...seed, products: rows });
  expect(screen.queryByLabelText("in doubt")).not.toBeInTheDocument();
  expect(screen.queryByRole("button", { name: /Complete/ })).not.toBeInTheDocument();
  await waitFor(() => {
    const asked = calls.filter((it) => it.command === "notes");
    expect(asked).toHaveLength(1);
    const { products } = asked[0]?.request as { products: string[] };
    expect(products[0]).toBe(rows[0]?.product);
    expect(products.length).toBeLessThan(100);
  });
});

// The screen asks for what its fields say, and shows what came of it.
import { render, screen } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { expect, test } from "vitest";
import { memoryBackend, type Answers, type Call } from "../lib/backend/memory";
import { keeper } from "../lib/kept.svelte";
import { moved } from "../lib/publish";
import type { Definition } from "../lib/types/Definition";
import { OPEN } from "../test-answers";
import products from "../test-fixtures/products.json";
import Publish from "./Publish.svelte";

const definition: Definition = {
  title: "",
  author: "",
  products: [],
  columns: ["price", "cabinet.wall_damping"],
  units: "bench",
  intervals: true,
  evidence: true,
  charts: true,
  claims: true,
  sheets: true,
  disclosure: {
    chosen: "",
    market: "",
    known: "",
    left_out: "",
    bought: "",
    instruments: "",
    tax_and_shipping: "",
    paid_by: "",
    gifts: "",
    affiliate: "",
  },
};

// The least that the screen reads; the other screens' answers are not asked for.
const answers = {
  preview_publication: {
    html: "<p>page</p>",
    definition,
    definition_text: 'title = ""\n',
    changes: null,
    formats: ["md", "pdf"],
    columns: [{ id: "price", label: "Price" }],
    products: [{ id: "a/b", label: "A B" }],
    remarks: [],
  },
  publication: {
    edition: 3,
    is_new: true,
    title: "Guide",
    folder: "/tmp/guide",
    files: [{ name: "guide.md", format: "md", bytes: 10, sha256: "0".repeat(64) }],
    changes: null,
    remarks: [],
  },
  editions: { editions: [] },
} as unknown as Answers;

test("an edition is published with the title and the folder that were typed", async () => {
  const calls: Call[] = [];
  const user = userEvent.setup();
  render(Publish, {
    backend: memoryBackend(answers, calls),
    status: OPEN,
    list: products,
    route: { screen: "publish" },
    keep: keeper(),
    back: { screen: "band" },
  });
  await user.type(await screen.findByLabelText("Title"), "My guide");
  await user.type(screen.getByLabelText("Folder"), "/tmp/guide{Control>}{Enter}{/Control}");
  expect(await screen.findByText(/Edition 3: 1 file/)).toBeInTheDocument();
  const call = calls.find((it) => it.command === "publish");
  expect(call?.request).toMatchObject({
    to: "/tmp/guide",
    draft: false,
    formats: [],
    definition: { title: "My guide", columns: ["price", "cabinet.wall_damping"] },
  });
  expect(screen.getByTitle("Preview of the publication")).toHaveAttribute("sandbox", "");
});

test("a column moves by one place and never out of the list", () => {
  expect(moved(["a", "b", "c"], 2, -1)).toEqual(["a", "c", "b"]);
  expect(moved(["a", "b"], 0, -1)).toEqual(["a", "b"]);
  expect(moved(["a", "b"], 1, 1)).toEqual(["a", "b"]);
});

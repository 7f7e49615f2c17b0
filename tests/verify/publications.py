"""The files of a publication of the seed catalogue, read by libraries that know nothing of the program that wrote them.

CSV with its CSVW metadata goes to csvw, XLSX to openpyxl, HTML to html5lib, Markdown to cmark-gfm (the reference parser of
GitHub Flavored Markdown), JSON-LD to rdflib with the terms of schema.org that it ships, PDF to pypdf and, where it is there,
pdftotext, SVG to the XML parser of Python. Where LibreOffice is there, it opens the workbook too. Numbers are held against
`results.json`, names against the list of products.
"""

import argparse
import csv
import json
import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree
from pathlib import Path

import cmarkgfm
import html5lib
import openpyxl
import pypdf
import rdflib
from csvw import CSVW
from rdflib.namespace import SDO

BAND = "200..500"
KEPT = Path("tests/golden")

# Names and notes as strangers might write them; each must come out as it is.
MODEL = "=1+2 | <b>Grist</b> *5* & co"
NOTE = "+SUM(A1) </style> | # no heading `code` [x](https://example.org) &amp; --> 1. no list"
# The definition takes what an import refuses: another line, and a mark that turns the direction of writing.
CHOSEN = "@chosen\n- no list \u202ereversed"
CHOSEN_SHOWN = CHOSEN.replace("\u202e", "\u27e8U+202E\u27e9")


class Checks:
    def __init__(self):
        self.cases, self.misses, self.skipped = 0, [], []

    def skip(self, what):
        if what not in self.skipped:
            self.skipped.append(what)

    def hold(self, what, found, wanted=True):
        self.cases += 1
        if found != wanted:
            self.misses.append(f"{what}: {found!r}, wanted {wanted!r}")


def hostile_seed(folder):
    """The seed catalogue with one product that has such a name and such notes."""
    copy = folder / "seed"
    shutil.copytree("seed-catalog", copy)
    file = copy / "products" / "thistlequern" / "grist-5.toml"
    lines = file.read_text().splitlines()
    at = next(at for at, it in enumerate(lines) if it.startswith("model = "))
    lines[at] = f"model = {json.dumps(MODEL)}"
    lines = [it for it in lines if not it.startswith("note = ")]
    lines.insert(at, f"note = {json.dumps(NOTE)}")
    # A file is called like its model.
    file.with_name("1-2-b-grist-b-5-co.toml").write_text("\n".join(lines) + "\n")
    file.unlink()
    return copy


def monthly_seed(folder):
    """The seed catalogue with one product whose prices are known to the month."""
    copy = folder / "seed"
    shutil.copytree("seed-catalog", copy)
    file = copy / "products" / "vennelgate" / "snicket-2.toml"
    prices, rest = file.read_text().split("[[specimen]]", 1)
    prices = re.sub(r'date = "(2026-\d{2})-\d{2}"', r'date = "\1"', prices)
    file.write_text(f"{prices}[[specimen]]{rest}")
    return copy


def few(checks, out):
    """Few products, one with a price known to the month: no ranks, and no date that is none."""
    results = json.loads((out / "results.json").read_text())
    names = [it["maker"] + " " + it["model"] for it in sorted(results["standings"], key=lambda it: it["price"]["real_pair"])]
    checks.hold("few: fewer than five", 0 < len(names) < 5)
    with open(out / "tables" / "standings.csv", newline="") as text:
        rows = list(csv.DictReader(text))
    checks.hold("few: order of price", [it["product"] for it in rows], names)
    checks.hold("few: no rank", [it for it in rows[0] if it.startswith(("rank", "group"))], [])
    with open(out / "tables" / "comparison.csv", newline="") as text:
        dates = [it["price_date"] for it in csv.DictReader(text)]
    checks.hold("few: a month", any(re.fullmatch(r"\d{4}-\d{2}", it) for it in dates))
    for file in sorted((out / "tables").glob("*.csv")):
        described = CSVW(str(file) + "-metadata.json", validate=True)
        list(described.tables[0])
        checks.hold(f"few: {file.name} is valid", described.is_valid)
    linked(checks, out, results)
    charts(checks, out)


def publish(boxworth, folder, seed, definition="", band=BAND):
    shelf, file = folder / "shelf.boxworth", folder / "definition.toml"
    file.write_text(definition)

    def run(*arguments):
        subprocess.run([boxworth, *arguments], check=True, capture_output=True)

    run("new", str(shelf), "--base-month", "2026-06")
    run("--catalogue", str(shelf), "import", str(seed))
    run("--catalogue", str(shelf), "--as-of", "2026-11-25", "publish", band, "--definition", str(file), "--to", str(folder / "out"))
    return folder / "out"


def names_of(results):
    return [f"{it['maker']} {it['model']}" for it in results["standings"]]


def tables(checks, out, results):
    for file in sorted((out / "tables").glob("*.csv")):
        described = CSVW(str(file) + "-metadata.json", validate=True)
        # Reading checks each cell against the datatype that the metadata gives.
        rows = list(described.tables[0])
        checks.hold(f"{file.name}: valid", described.is_valid)
        with open(file, newline="") as text:
            plain = list(csv.DictReader(text))
        checks.hold(f"{file.name}: rows", len(rows), len(plain))
        checks.hold(f"{file.name}: columns", list(rows[0]) if rows else [], list(plain[0]) if plain else [])
    with open(out / "tables" / "standings.csv", newline="") as text:
        standings = list(csv.DictReader(text))
    checks.hold("standings.csv: products", [it["product"] for it in standings], names_of(results))
    for row, it in zip(standings, results["standings"]):
        checks.hold(f"{row['product']}: price", float(row["real_pair"]), it["price"]["real_pair"])
        scores = {"index": it["index"], **it["subsystems"]}
        for name, of in scores.items():
            # What is known has no ends; what is open has nothing else.
            wanted = [of["value"], None, None] if of["value"] is not None else [None, of["low"], of["high"]]
            found = [row.get(f"{name}{end}") or None for end in ("", "_low", "_high")]
            checks.hold(f"{row['product']}: {name}", [None if it is None else float(it) for it in found], wanted)
        drawn = [float(row["index_drawn_low"]), float(row["index_drawn_high"])]
        checks.hold(f"{row['product']}: index of the draws", drawn, [it["spread"]["low"], it["spread"]["high"]])


def workbook(checks, out, results):
    sheet = openpyxl.load_workbook(out / "guide.xlsx")["standings"]
    # The first row is the title of the table.
    head = [it.value for it in sheet[2]]
    checks.hold("guide.xlsx: first column", head[0], "Product")
    price = next(at for at, it in enumerate(head) if it.startswith("Real price"))
    places = {end: head.index(f"Index, 0–100{end}") for end in ("", ": low", ": high")}
    for row, it, name in zip(sheet.iter_rows(min_row=3), results["standings"], names_of(results)):
        of = it["index"]
        wanted = [of["value"], None, None] if of["value"] is not None else [None, of["low"], of["high"]]
        found = [row[at].value for at in places.values()]
        same = [a == b or (None not in (a, b) and abs(a - b) < 1e-9) for a, b in zip(found, wanted)]
        checks.hold(f"guide.xlsx, {name}: index {found}, {wanted}", all(same))
        checks.hold("guide.xlsx: product", row[0].value, name)
        checks.hold(f"guide.xlsx, {name}: a number", row[price].data_type, "n")
        checks.hold(f"guide.xlsx, {name}: price", abs(row[price].value - it["price"]["real_pair"]) < 1e-9)
    for sheet in openpyxl.load_workbook(out / "guide.xlsx"):
        formulas = [it.coordinate for row in sheet for it in row if it.data_type == "f"]
        checks.hold(f"guide.xlsx, {sheet.title}: formulas", formulas, [])
    uncertain(checks, out)
    if office := shutil.which("soffice"):
        spreadsheet(checks, out, results, office)
    else:
        checks.skip("LibreOffice is not there: the workbook was not opened in it")


def uncertain(checks, out):
    """Standard uncertainties stand in no results, so those of CSV and XLSX are held against each other."""
    sheet = openpyxl.load_workbook(out / "guide.xlsx")["comparison"]
    head = [it.value for it in sheet[2]]
    with open(out / "tables" / "comparison.csv", newline="") as text:
        rows = list(csv.DictReader(text))
    with open(out / "tables" / "comparison.csv-metadata.json") as text:
        columns = json.load(text)["tableSchema"]["columns"]
    named = [it["name"] for it in columns if it["name"].endswith("_u")]
    places = [at for at, it in enumerate(head) if str(it).endswith(": standard uncertainty")]
    checks.hold("comparison: columns of uncertainty", len(places), len(named))
    checks.hold("comparison: some are uncertain", bool(named))
    for row, cells in zip(rows, sheet.iter_rows(min_row=3)):
        for name, at in zip(named, places):
            of_csv, of_book = row[name] or None, cells[at].value
            same = of_csv is of_book is None or (None not in (of_csv, of_book) and abs(float(of_csv) - of_book) <= 1e-9 * abs(of_book))
            checks.hold(f"{row['product']}: {name}, {of_csv} and {of_book}", same)


# Comma, quotation mark, UTF-8, from the first row on.
UTF8_CSV = "csv:Text - txt - csv (StarCalc):44,34,76,1"


def spreadsheet(checks, out, results, office):
    """What LibreOffice makes of the first sheet, as it shows it."""
    with tempfile.TemporaryDirectory() as folder:
        home = f"-env:UserInstallation=file://{folder}/home"
        into = ["--headless", "--convert-to", UTF8_CSV, "--outdir", folder, str(out / "guide.xlsx")]
        subprocess.run([office, home, *into], check=True, capture_output=True)
        with open(Path(folder) / "guide.csv", newline="") as text:
            title, *lines = csv.reader(text)
            rows = [dict(zip(lines[0], it)) for it in lines[1:]]
        checks.hold("guide.xlsx in LibreOffice: title", title[0], "By the middle of the index")
    price = next(it for it in rows[0] if it.startswith("Real price"))
    checks.hold("guide.xlsx in LibreOffice: products", [it["Product"] for it in rows], names_of(results))
    for row, it in zip(rows, results["standings"]):
        shown = f"{it['price']['real_pair']:,.0f}"
        checks.hold(f"guide.xlsx in LibreOffice: price of {row['Product']}", row[price], shown)


def markdown_of(out):
    markdown = cmarkgfm.github_flavored_markdown_to_html((out / "guide.md").read_text())
    # The parser leaves elements out, here the raised marks of footnotes and line breaks.
    markdown = markdown.replace("<!-- raw HTML omitted -->", " ")
    return html5lib.parse(markdown, namespaceHTMLElements=False)


def documents(checks, out, results):
    names = names_of(results)
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    page = parser.parse((out / "guide.html").read_text())
    checks.hold("guide.html: faults", [str(it) for it in parser.errors], [])
    checks.hold("guide.html: one heading of the page", len(page.findall(".//h1")), 1)
    for table in page.iter("table"):
        checks.hold("guide.html: caption", table.find("caption") is not None)
        checks.hold("guide.html: heads have a scope", all(it.get("scope") for it in table.iter("th")))
    body = "".join(page.find("body").itertext())
    read = markdown_of(out)
    rows = [["".join(it.itertext()).strip() for it in row] for row in next(read.iter("table")).iter("tr")]
    checks.hold("guide.md: rows of the standings", len(rows), len(names) + 1)
    checks.hold("guide.md: rows as long as the head", {len(it) for it in rows}, {len(rows[0])})
    pdf = pypdf.PdfReader(out / "guide.pdf")
    text = "\n".join(it.extract_text() for it in pdf.pages).replace("\n", " ")
    for name in names:
        checks.hold(f"guide.html: {name}", name in body)
        checks.hold(f"guide.md: {name}", any(row[0].startswith(name) for row in rows))
        checks.hold(f"guide.pdf: {name}", name in text)
    if reader := shutil.which("pdftotext"):
        read = subprocess.run([reader, "-layout", out / "guide.pdf", "-"], check=True, capture_output=True, text=True)
        words = " ".join(read.stdout.split())
        for name in names:
            checks.hold(f"guide.pdf by pdftotext: {name}", name in words)
        checks.hold("guide.pdf by pdftotext: nothing was unreadable", "\ufffd" in words, False)
    else:
        checks.skip("pdftotext is not there: the PDF was read by pypdf alone")
    for place, it in enumerate(pdf.pages):
        checks.hold(f"guide.pdf: page {place + 1} is numbered", f"{place + 1} of {len(pdf.pages)}" in it.extract_text())


def linked(checks, out, results):
    data = json.loads((out / "guide.jsonld").read_text())
    # The vocabulary lies on the net; terms are all of one name space, so that this is the same context.
    data["@context"] = {"@vocab": "https://schema.org/"}
    graph = rdflib.Graph().parse(data=json.dumps(data), format="json-ld")
    schema = rdflib.Namespace("https://schema.org/")
    # rdflib ships the terms of schema.org; one that is not among them was made up.
    terms = {str(it).removeprefix(str(SDO)) for it in dir(SDO)}
    used = {str(it) for triple in graph for it in triple if str(it).startswith(str(schema))}
    of_terms = {it.removeprefix(str(schema)) for it in used}
    checks.hold("guide.jsonld: terms that schema.org has not", sorted(of_terms - terms), [])
    products = {str(graph.value(it, schema.name)) for it in graph.subjects(rdflib.RDF.type, schema.Product)}
    checks.hold("guide.jsonld: products", products, set(names_of(results)))
    for rating in graph.subjects(rdflib.RDF.type, schema.Rating):
        checks.hold("guide.jsonld: rating", 0 <= float(graph.value(rating, schema.ratingValue)) <= 100)


def charts(checks, out):
    for file in sorted((out / "charts").glob("*.svg")):
        root = tree.parse(file).getroot()
        checks.hold(f"{file.name}: title", root.find("{http://www.w3.org/2000/svg}title") is not None)
        checks.hold(f"{file.name}: its PNG", file.with_suffix(".png").read_bytes()[:4], b"\x89PNG")


def squeezed(text):
    return " ".join(text.split())


def hostile(checks, out):
    """Every format shows names, notes and disclosure letter by letter, and obeys none of them."""
    name, chosen = f"Thistlequern {MODEL}", squeezed(CHOSEN_SHOWN)
    with open(out / "tables" / "standings.csv", newline="") as text:
        checks.hold("hostile csv", name in [it["product"] for it in csv.DictReader(text)])
    book = openpyxl.load_workbook(out / "guide.xlsx")
    cells = [it for sheet in book for row in sheet for it in row if it.value is not None]
    for what, text in [("name", name), ("note", NOTE), ("disclosure", CHOSEN)]:
        checks.hold(f"hostile xlsx: {what}", any(it.value == text and it.data_type == "s" for it in cells))
    checks.hold("hostile xlsx: formulas", [it.coordinate for it in cells if it.data_type == "f"], [])
    page = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False).parse((out / "guide.html").read_text())
    read = markdown_of(out)
    for of, root in [("html", page), ("md", read)]:
        texts = [squeezed(" ".join(it.itertext()) if of == "html" else "".join(it.itertext())) for it in root.iter()]
        for what, text in [("name", name), ("note", NOTE), ("disclosure", chosen)]:
            checks.hold(f"hostile {of}: {what}", any(text.replace(" ", "") in it.replace(" ", "") for it in texts))
        obeyed = [it.tag for it in root.iter() if it.tag in ("b", "em", "a", "code", "script")]
        checks.hold(f"hostile {of}: elements", obeyed, [])
    linked = json.loads((out / "guide.jsonld").read_text())
    checks.hold("hostile jsonld", MODEL in [it["item"]["model"] for it in linked["itemListElement"]])
    pdf = squeezed(" ".join(it.extract_text() for it in pypdf.PdfReader(out / "guide.pdf").pages))
    for what, text in [("name", name), ("note", NOTE), ("disclosure", chosen)]:
        checks.hold(f"hostile pdf: {what}", text in pdf)
    # In the chart of prices names stand where there is room.
    for file in [out / "charts" / it for it in ("index.svg", "ranks.svg", "subsystems.svg")]:
        words = [it.text for it in tree.parse(file).iter("{http://www.w3.org/2000/svg}text")]
        checks.hold(f"hostile {file.name}", name in words)


def read_back(out):
    """What other programs read in the formats that are no text, as lines that can be kept."""
    pages = [it.extract_text() for it in pypdf.PdfReader(out / "guide.pdf").pages]
    # Plugins have other hashes on another computer, and break elsewhere.
    document = re.sub(r"\b[0-9a-f]{10,64}\b", "HASH", "\n\n".join(pages))
    book = openpyxl.load_workbook(out / "guide.xlsx")
    cells = []
    for sheet in book:
        for it in (it for row in sheet for it in row if it.value is not None):
            value = f"{it.value:.9g}" if isinstance(it.value, (int, float)) else str(it.value)
            value = re.sub(r"\b[0-9a-f]{64}\b", "HASH", value)
            cells.append("\t".join([sheet.title, it.coordinate, it.data_type, it.number_format, value]))
    pictures = []
    for file in sorted((out / "charts").glob("*.png")):
        head = file.read_bytes()[16:24]
        pictures.append(f"{file.name}\t{int.from_bytes(head[:4])} x {int.from_bytes(head[4:])}")
    return {"guide-pdf.txt": document, "guide-xlsx.tsv": "\n".join(cells), "guide-png.tsv": "\n".join(pictures)}


def kept(checks, found, write):
    for name, text in found.items():
        file = KEPT / name
        if write:
            KEPT.mkdir(exist_ok=True)
            file.write_text(text.rstrip() + "\n")
        checks.hold(f"{name} reads as it is kept", file.read_text() == text.rstrip() + "\n")


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--check", action="store_true")
    arguments.add_argument("--write", action="store_true")
    arguments.add_argument("--boxworth", required=True)
    given = arguments.parse_args()
    checks = Checks()
    with tempfile.TemporaryDirectory() as folder:
        boxworth, folder = str(Path(given.boxworth).resolve()), Path(folder)
        short, other, monthly = folder / "short", folder / "other", folder / "monthly"
        for it in (short, other, monthly):
            it.mkdir()
        kept(checks, read_back(publish(boxworth, short, "seed-catalog", "sheets = false\n")), given.write)
        if not given.write:
            out = publish(boxworth, folder, "seed-catalog")
            results = json.loads((out / "results.json").read_text())
            tables(checks, out, results)
            workbook(checks, out, results)
            documents(checks, out, results)
            linked(checks, out, results)
            charts(checks, out)
            definition = f"[disclosure]\nchosen = {json.dumps(CHOSEN)}\n"
            hostile(checks, publish(boxworth, other, hostile_seed(other), definition))
            few(checks, publish(boxworth, monthly, monthly_seed(monthly), band="205..225"))
    print(f"publications: {checks.cases} cases {'written' if given.write else 'compared'}; {len(checks.misses)} misses")
    for it in checks.skipped:
        print(f"  skipped: {it}")
    for it in checks.misses[:40]:
        print(f"  {it}")
    sys.exit(1 if checks.misses else 0)


main()

#!/usr/bin/env python3
"""Checks a dossier and its exports with other people's programs: `ssh-keygen` for signatures,
`sha256sum` for hashes, the reference library of BagIt (RFC 8493), Linked Art's context and its
reference library `cromulent`, and JSON-LD expansion by `pyld`.

Run from the project's folder: python3 tests/dossier_exports.py
Takes the built program, or builds it; makes a virtual environment in target/ and fetches the libraries
from PyPI. Nothing is skipped: what is missing fails. With --install, no more than what it checks with is
fetched.
"""

import datetime
import hashlib
import json
import logging
import os
import pathlib
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import zipfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
VENV = ROOT / "target" / "dossier-venv"
PROGRAM = ROOT / "target" / "debug" / "inktell"
LIBRARIES = ["bagit==1.9.0", "cromulent==1.0.1", "pyld==3.3.0", "pypdf==7.1.0", "requests==2.34.2"]
# What each tool is in on Debian.
TOOLS = {"ssh-keygen": "openssh-client", "sha256sum": "coreutils"}
# A time zone that needs no table of time zones: POSIX counts to the west.
EAST = dict(os.environ, TZ="EAST-05:30")


def inside_venv():
    """Goes on inside the virtual environment, making it first if need be."""
    python = VENV / "bin" / "python"
    if pathlib.Path(sys.prefix) == VENV:
        return
    if not python.exists():
        made = subprocess.run([sys.executable, "-m", "venv", str(VENV)])
        if made.returncode:
            install("python3-venv")
            subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)], check=True)
    subprocess.run([str(python), "-m", "pip", "install", "--quiet", "--no-compile", *LIBRARIES], check=True)
    os.execv(python, [str(python), __file__, *sys.argv[1:]])


def install(package):
    """Installs a Debian package; where that cannot be done, says what is missing."""
    if shutil.which("apt-get") is None or os.geteuid() != 0:
        sys.exit(f"{package} is missing: install it and run this again")
    subprocess.run(["apt-get", "update", "-qq"], check=True)
    subprocess.run(["apt-get", "install", "-y", "-qq", package], check=True)


def inktell(*arguments, code=0):
    """Runs the program built by cargo."""
    environment = dict(EAST, INKTELL_PASSPHRASE="heron stands in reeds", COLUMNS="100")
    command = [str(PROGRAM), *map(str, arguments)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True)
    assert done.returncode == code, f"{arguments}: {done.stdout}{done.stderr}"
    return done.stdout


def sample(folder):
    """A dossier with every kind of entry and two signers."""
    heron, first, second = folder / "heron", folder / "first", folder / "second"
    inktell("dossier", "key", first, "--name", "A. Bidder")
    # A key that ssh-keygen makes does as well.
    subprocess.run(
        ["ssh-keygen", "-q", "-t", "ed25519", "-C", "D. Second", "-N", "heron stands in reeds", "-f", second],
        check=True,
    )
    inktell(
        "dossier", "begin", heron, "--title", "The Heron", "--sheet", "495x305", "--image", "400x260",
        "--plate-mark", "470x300", "--process", "stipple-engraving", "--condition", "Two short tears.",
        "--provenance", "C. Nobody, 1931", "--inscription", "lower left: B. Nemo sculpt",
        "--identifier", "1931.7", "--edition", "Before the number was added.", "--paper", "Wove.",
        "--key", first,
    )
    photo = ROOT / "fixtures" / "photos" / "stippled-petals.jpg"
    inktell("dossier", "add", heron, photo, "--px-per-mm", "109", "--key", first)
    inktell("dossier", "observe", heron, "--by", "touch", 'Plate mark felt; "signature":"no" in quotes.', "--key", second)
    inktell(
        "dossier", "conclude", heron, "Stipple.", "--process", "stipple-engraving", "--colouring", "none",
        "--because", "What the loupe shows is plain.", "--key", first,
    )
    inktell("dossier", "amend", heron, "1", "Measured again.", "--set", "sheet=494x304", "--author", "A. Bidder")
    inktell("dossier", "countersign", heron, "Sheet in hand.", "--key", second)
    return heron


def readme_recipe(heron):
    """The commands of the dossier's own README, run as a reader would, for every signed line."""
    recipe = (heron / "README.txt").read_text()
    start = recipe.index("  sed -n 3p dossier.jsonl | sed 's/,")
    block = recipe[start : recipe.index("\n\n", start)]
    signed = 0
    for number, line in enumerate((heron / "dossier.jsonl").read_text().splitlines(), 1):
        if '"key":"ssh-ed25519' not in line:
            continue
        signed += 1
        script = block.replace("-n 3p dossier.jsonl", f"-n {number}p {heron}/dossier.jsonl")
        with tempfile.TemporaryDirectory() as place:
            good = subprocess.run(["sh", "-c", script], cwd=place, capture_output=True, text=True)
            assert good.returncode == 0 and "Good" in good.stdout, f"{number}: {good.stdout}{good.stderr}"
            entry = pathlib.Path(place, "entry")
            entry.write_bytes(entry.read_bytes().replace(b'"n":', b'"n": ', 1))
            verify = block[block.index("ssh-keygen") :]
            forged = subprocess.run(["sh", "-c", verify], cwd=place, capture_output=True)
            assert forged.returncode != 0, f"{number}: ssh-keygen passed a changed entry"
    assert signed == 5, signed
    return signed


def lists_of_signers(heron, folder):
    """Lines of lists of signers by `inktell` against `ssh-keygen`, at the time that each entry gives: what one
    accepts the other does, and what one refuses the other does."""
    first, second = ((folder / f"{name}.pub").read_text().split()[:2] for name in ("first", "second"))
    signed = []
    for line in (heron / "dossier.jsonl").read_text().splitlines():
        entry = json.loads(line)
        if entry.get("key") == " ".join(first):
            letters = entry["signature"]
            pem = "\n".join(letters[start : start + 70] for start in range(0, len(letters), 70))
            frame = f"-----BEGIN SSH SIGNATURE-----\n{pem}\n-----END SSH SIGNATURE-----\n"
            signed.append((line[: line.rindex(',"signature":"')] + "}", frame, re.sub(r"[-:T]", "", entry["time"])))
    begun, ended = signed[0][2], signed[-1][2]
    key = " ".join(first)
    lines = [
        f'"A. Bidder" {key}',
        f'"A. Bidder,C. Other" {key} a comment',
        f'"A.*" {key}',
        f'"!C.*,*" {key}',
        f'"!A.*,*" {key}',
        f'"!C.*" {key}',
        f"A. Bidder {key}",
        f'"A. Bidder" cert-authority {key}',
        f'"A. Bidder" Cert-Authority {key}',
        f'"A. Bidder" odd {key}',
        f'"A. Bidder"\tnamespaces="inktell-dossier"\t{key}',
        f'"A. Bidder" namespaces="file,ink*-?ossier" {key}',
        f'"A. Bidder" NameSpaces="*,!file" {key}',
        f'"A. Bidder" namespaces="file" {key}',
        f'"A. Bidder" namespaces="*,!inktell-*" {key}',
        f'"A. Bidder" namespaces="!file" {key}',
        f'"A. Bidder" namespaces="" {key}',
        f'"A. Bidder" namespaces=* {key}',
        f'"A. Bidder" namespaces="*",namespaces="*" {key}',
        f'"A. Bidder" namespaces="*", {key}',
        f'"A. Bidder" valid-after="{begun}" {key}',
        f'"A. Bidder" valid-after="{later(begun)}" {key}',
        f'"A. Bidder" valid-before="{ended}" {key}',
        f'"A. Bidder" valid-before="{later(ended, -1)}" {key}',
        f'"A. Bidder" valid-after="20200101",valid-before="209901010000" {key}',
        f'"A. Bidder" valid-after="20990101Z" {key}',
        f'"A. Bidder" valid-before="202001010000Z" {key}',
        # Without a Z both are east of UTC by five hours and a half.
        f'"A. Bidder" valid-after="{later(begun, 19800)[:-1]}" {key}',
        f'"A. Bidder" valid-after="{later(begun, 19801)[:-1]}" {key}',
        f'"A. Bidder" valid-after={begun} {key}',
        f'"A. Bidder" valid-after="2020" {key}',
        f'"A. Bidder" valid-before="20990101Z",valid-after="20990101Z" {key}',
        f'"A. Bidder" valid-before="20200101Z" {key}\n"A. Bidder" valid-after="20200101Z" {key}',
        f"odd\n\n# keys\n \t\"A. Bidder\" {key}",
    ]
    accepted = 0
    for line in lines:
        file = folder / "allowed_signers"
        file.write_text(f"{line}\n\"D. Second\" {' '.join(second)}\n")
        by_openssh = all(openssh_accepts(file, *entry) for entry in signed)
        inktell("dossier", "verify", heron, "--no-measure", "--signers", file, code=0 if by_openssh else 1)
        accepted += by_openssh
    assert 10 < accepted < len(lines) - 10, accepted
    return len(lines)


def later(moment, seconds=1):
    """A moment as lists of signers have it, so many seconds later."""
    form = "%Y%m%d%H%M%SZ"
    return (datetime.datetime.strptime(moment, form) + datetime.timedelta(seconds=seconds)).strftime(form)


def openssh_accepts(signers, signed, signature, moment):
    """Whether ssh-keygen takes an entry for one of A. Bidder's at a moment."""
    with tempfile.TemporaryDirectory() as place:
        file = pathlib.Path(place, "entry.sig")
        file.write_text(signature)
        options = ["-f", signers, "-I", "A. Bidder", "-n", "inktell-dossier", "-s", file, f"-Overify-time={moment}"]
        done = subprocess.run(
            ["ssh-keygen", "-Y", "verify", *options], input=signed.encode(), env=EAST, capture_output=True
        )
    return done.returncode == 0


def readme_hashes(heron):
    """Names of files and links of the chain against `sha256sum`."""
    files = [f for name in ("photographs", "readings", "reports") for f in (heron / name).iterdir()]
    for file in files:
        out = subprocess.run(["sha256sum", file], capture_output=True, text=True, check=True).stdout
        assert file.stem == out.split()[0], file
    lines = (heron / "dossier.jsonl").read_bytes().splitlines(keepends=True)
    sums = [
        subprocess.run(["sha256sum"], input=line, capture_output=True, check=True).stdout.decode().split()[0]
        for line in lines
    ]
    for before, line in zip(sums, lines[1:]):
        assert json.loads(line)["prev"]["sha256"] == before
    assert (heron / "head").read_text().split()[:2] == [str(len(lines)), sums[-1]]
    return len(files) + len(lines)


def bag(heron, folder):
    """The ZIP file unpacked, against BagIt's reference library; a flipped byte must fail."""
    import bagit

    file = folder / "heron-bag.zip"
    inktell("dossier", "export", heron, "--bag", file, "--no-measure")
    with zipfile.ZipFile(file) as archive:
        assert archive.testzip() is None
        archive.extractall(folder)
    place = folder / "heron-bag"
    found = bagit.Bag(str(place))
    found.validate()
    assert found.version == "1.0" and found.algorithms == ["sha256"], (found.version, found.algorithms)
    entries = len(found.payload_entries())
    inktell("dossier", "verify", place, "--no-measure")
    # The failure that follows is meant.
    logging.disable(logging.CRITICAL)
    changed = next((place / "data" / "dossier" / "photographs").iterdir())
    content = bytearray(changed.read_bytes())
    content[100] ^= 1
    changed.write_bytes(content)
    try:
        bagit.Bag(str(place)).validate()
    except bagit.BagValidationError:
        return entries
    raise AssertionError("bagit passed a changed photograph")


def pdf(heron, folder):
    """The PDF read by pypdf: size of pages, embedded fonts, what stands on every page."""
    import pypdf

    head = (heron / "head").read_text().split()[1]
    pages = 0
    for paper, size in [("a4", (595.276, 841.89)), ("letter", (612.0, 792.0))]:
        file = folder / f"{paper}.pdf"
        inktell("dossier", "export", heron, "--pdf", file, "--paper", paper, "--no-measure")
        read = pypdf.PdfReader(file, strict=True)
        count = len(read.pages)
        for number, page in enumerate(read.pages, 1):
            box = tuple(map(float, page.mediabox[2:]))
            assert all(abs(a - b) < 0.01 for a, b in zip(box, size)), (paper, box)
            text = page.extract_text()
            for said in (head, "SHA256:", "no authentication opinion", f"page {number} of {count}"):
                assert said in text, (paper, number, said, text[-400:])
            for font in page["/Resources"]["/Font"].values():
                for below in font["/DescendantFonts"]:
                    descriptor = below["/FontDescriptor"]
                    assert "/FontFile2" in descriptor or "/FontFile3" in descriptor, font
        everything = "".join(page.extract_text() for page in read.pages)
        wanted = ("The Heron", "494 × 304 mm", "Plate mark felt", "Where they differ, why", "Ultraviolet", "Reproduction")
        for said in wanted:
            assert said in everything, (paper, said)
        layout([page.extract_text() for page in read.pages], paper)
        assert b"pdfaid" in read.trailer["/Root"]["/Metadata"].get_data(), "no PDF/A identification"
        widest = max(picture["/Width"] for page in read.pages for picture in pictures(page["/Resources"]))
        assert widest >= 1000, f"{paper}: pictures are at most {widest} px wide"
        pages += count
    return pages


HEADINGS = (
    "Conclusion", "Seen and felt", "The sheet", "What was measured", "Photographs", "The log, entry by entry",
    "Does it hold?", "Personal data", "Cautions",
)


def layout(pages, paper):
    """No heading stands at the foot of a page, no line that ends an entry at the top of one, and the table
    of findings begins under its heading."""
    for number, text in enumerate(pages, 1):
        # What follows is the foot.
        lines = [line.strip() for line in re.split(r"\nentry \d+ · SHA-256 ", text)[0].splitlines() if line.strip()]
        assert lines[-1] not in HEADINGS, (paper, number, lines[-3:])
        assert not lines[0].startswith(("Considers the", "Covers the", "Written by", "SHA-256 of")), (paper, number, lines[0])
        if "What was measured" in lines:
            below = lines[lines.index("What was measured") :]
            assert any(line.endswith("Weight") for line in below), (paper, number, lines)


def pictures(resources):
    """All pictures that a page draws, inside forms too."""
    for item in resources.get("/XObject", {}).values():
        item = item.get_object()
        if item["/Subtype"] == "/Image":
            yield item
        else:
            yield from pictures(item.get("/Resources", {}))


def linked_art(heron, folder):
    """The JSON-LD against Linked Art's own context and model, as it is and with a photograph left out."""
    file, private = folder / "heron.jsonld", folder / "egret.jsonld"
    inktell("dossier", "export", heron, "--linked-art", file, "--no-measure")
    egret = with_place(folder)
    inktell("dossier", "export", egret, "--linked-art", private, "--no-measure", "--without-location")
    left_out = json.loads(private.read_text())
    copy, original = left_out["representation"][0]["digitally_shown_by"]
    bag = folder / "egret.zip"
    inktell("dossier", "export", egret, "--bag", bag, "--no-measure", "--without-location")
    with zipfile.ZipFile(bag) as archive:
        held = {hashlib.sha256(archive.read(name)).hexdigest() for name in archive.namelist()}
    hashes = [shown["identified_by"][0]["content"] for shown in (copy, original)]
    assert [sha256 in held for sha256 in hashes] == [True, False], (hashes, held)
    return by_the_model(json.loads(file.read_text())) + by_the_model(left_out)


def with_place(folder):
    """A dossier of a photograph with a place: a block of EXIF whose one field points to a latitude."""
    block = struct.pack(">2sHIHHHIIIHHHI4sI", b"MM", 42, 8, 1, 0x8825, 4, 1, 26, 0, 1, 1, 2, 2, b"N\0\0\0", 0)
    segment = b"Exif\0\0" + block
    photo = (ROOT / "fixtures" / "photos" / "stippled-petals.jpg").read_bytes()
    located = folder / "located.jpg"
    located.write_bytes(photo[:2] + struct.pack(">HH", 0xFFE1, len(segment) + 2) + segment + photo[2:])
    egret, by = folder / "egret", ["--author", "A. Bidder"]
    inktell(
        "dossier", "begin", egret, "--title", "The Egret", "--sheet", "495x305", "--image", "400x260",
        "--plate-mark", "470x300", "--process", "stipple-engraving", "--support", "paper", *by,
    )
    inktell("dossier", "add", egret, located, "--px-per-mm", "109", *by)
    return egret


def by_the_model(document):
    """A document against Linked Art's own context and model."""
    import cromulent
    from cromulent import reader
    from pyld import jsonld

    data = pathlib.Path(cromulent.__file__).parent / "data" / "linked-art.json"
    context = json.loads(data.read_text())

    def from_library(url, options=None):
        assert url == "https://linked.art/ns/v1/linked-art.json", url
        return {"contextUrl": None, "documentUrl": url, "document": context}

    expanded = jsonld.expand(document, {"documentLoader": from_library})
    terms = keys_of(expanded)
    plain = [term for term in terms if not term.startswith(("http", "@"))]
    assert not plain, f"not in the context: {plain}"
    # Expansion drops what the context does not know: count that every key came through.
    for key in keys_of(document) - {"@context", "id", "type"}:
        assert key in context["@context"] or re.search(rf'"{key}":', json.dumps(context)), key
    assert len(values_of(expanded)) >= len(values_of({k: v for k, v in document.items() if k != "@context"})) - 1
    concepts(document, data.parent)
    read = reader.Reader().read(json.dumps(document))
    assert read.type == "HumanMadeObject" and read.dimension and read.produced_by
    wrong = dict(document, produced_with="x")
    try:
        reader.Reader().read(json.dumps(wrong))
    except Exception:
        return len(values_of(document))
    raise AssertionError("cromulent passed a property that the model does not have")


def concepts(document, data):
    """Every AAT concept in the document against the vocabulary of Linked Art's library, id and label.
    Processes and supports are the cataloguer's terms and not Linked Art's, and are passed over."""
    known = {}
    for name in ("vocab_classes.json", "vocab_instances.json"):
        for entry in json.loads((data / name).read_text()).values():
            known.setdefault(str(entry["id"]).rsplit("/", 1)[-1], set()).add(entry.get("label"))
    terms = [document["made_of"], document["produced_by"]["technique"]]
    passed = {id(term) for group in terms for term in group}
    seen = 0
    for node in nodes_of(document):
        number = re.fullmatch(r"http://vocab\.getty\.edu/aat/(\d+)", node.get("id", ""))
        if number is None or id(node) in passed:
            continue
        seen += 1
        assert number[1] in known, f"not in Linked Art's vocabulary: {node}"
        # The unit is labelled by its sign.
        if node["type"] != "MeasurementUnit":
            assert node["_label"] in known[number[1]], (node, known[number[1]])
    assert seen > 20, seen


def nodes_of(value):
    """All objects of a document, from the outside in."""
    if isinstance(value, dict):
        yield value
    if isinstance(value, (dict, list)):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from nodes_of(inner)


def keys_of(value):
    if isinstance(value, dict):
        return set(value) | {key for inner in value.values() for key in keys_of(inner)}
    if isinstance(value, list):
        return {key for inner in value for key in keys_of(inner)}
    return set()


def values_of(value):
    """All strings and numbers."""
    if isinstance(value, dict):
        return [leaf for inner in value.values() for leaf in values_of(inner)]
    if isinstance(value, list):
        return [leaf for inner in value for leaf in values_of(inner)]
    return [value]


def main():
    inside_venv()
    for tool, package in TOOLS.items():
        if shutil.which(tool) is None:
            install(package)
    if "--install" in sys.argv:
        return
    # A plain build after `cargo test` would build most of it again, with other features of dependencies.
    if not PROGRAM.exists():
        subprocess.run(["cargo", "build", "--quiet", "--locked"], cwd=ROOT, check=True)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        heron = sample(folder)
        checks = [
            f"{readme_recipe(heron)} signatures by ssh-keygen, each refused once changed",
            f"{lists_of_signers(heron, folder)} lists of signers as ssh-keygen takes them",
            f"{readme_hashes(heron)} hashes by sha256sum",
            f"{bag(heron, folder)} files of a bag by bagit, refused once changed",
            f"{pdf(heron, folder)} pages of PDF by pypdf",
            f"{linked_art(heron, folder)} values by Linked Art's context and model",
        ]
    for check in checks:
        print(f"dossier exports: {check}")
    print(f"{len(checks)} passed, 0 failed")


if __name__ == "__main__":
    main()

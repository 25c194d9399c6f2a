"""The proposal and the portfolio in a real browser: at the widths of a phone, a tablet and a desk,
and on paper.

Skipped, with a word, where there is no Chromium. What axe-core finds is asked too where its
file is named: AXE_CORE=node_modules/axe-core/axe.min.js (npm install axe-core).
"""

import html
import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import commissions, consents, endings, photos, portfolio, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.consents import ConsentGiven
from burnplan.desk.money import proposals
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.sheets.jobs import portfolio_files
from burnplan.sheets.jobs.portfolio import PortfolioWanted
from burnplan.sheets.money import proposal_files

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
AXE = os.environ.get("AXE_CORE", "")

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


def browse(page: Path, *options: str) -> str:
    """Open a page and return what it has become."""
    done = subprocess.run(
        [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
         "--virtual-time-budget=10000", f"--user-data-dir={page.parent / 'browser'}",
         *options, f"file://{page}"],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    return done.stdout


def told(page: Path, script: str, *options: str) -> Any:
    """Return what a script finds on a page: a value of JSON that it hands to ``tell``."""
    probe = page.with_name("probe.html")
    tell = (
        "const tell = found => { document.body.innerHTML = '';"
        " const p = document.createElement('pre'); p.id = 'told';"
        " p.textContent = JSON.stringify(found); document.body.append(p); };"
    )
    source = page.read_text(encoding="utf-8")
    probe.write_text(source.replace("</body>", f"<script>{tell}{script}</script></body>"))
    found = re.search(
        r'<pre id="told">(.*?)</pre>', browse(probe, "--dump-dom", *options), re.DOTALL
    )
    assert found is not None, "the browser told nothing"
    return json.loads(html.unescape(found[1]))


def faults(page: Path, scheme: str) -> Any:
    """Return what axe-core finds fault with."""
    axe = Path(AXE).read_text(encoding="utf-8")
    script = f"{axe}; axe.run().then(r => tell(r.violations.map(one => [one.id, one.help])));"
    dark = ["--force-dark-mode", "--blink-settings=preferredColorScheme=0"]
    return told(page, script, *(dark if scheme == "dark" else []))


_LAYOUT = """
const frame = document.createElement('iframe');
frame.style = 'border:0;height:4000px;width:WIDTHpx';
frame.srcdoc = document.documentElement.outerHTML.replace(/<script>[^]*<\\/script>/, '');
frame.onload = () => {
  const d = frame.contentDocument, of = s => [...d.querySelectorAll(s)];
  tell({
    over: d.documentElement.scrollWidth - d.documentElement.clientWidth,
    widths: of('.row img, .paper').map(one => one.getBoundingClientRect().width),
    heights: of('.row img, .paper').map(one => one.getBoundingClientRect().height),
    loaded: of('img').every(one => one.complete && one.naturalWidth > 0),
    smallest: Math.min(...of('p, dt, dd, li, figcaption, h3').map(
      one => parseFloat(frame.contentWindow.getComputedStyle(one).fontSize))),
  });
};
document.body.append(frame);
"""


@pytest.fixture
def page(studio: Studio, photo: Path, tmp_path: Path) -> Path:
    settings.save(studio, Settings(name="Hollow Oak Studio", address="Mill Lane 2\nUpton"))
    title = "The two grandmothers with all eleven grandchildren under the chestnut at Whitsun"
    wishes = Wishes(title=title, client="דנה כהן", size="9x11cm", species="basswood")
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo)
    view = proposals.issue(studio, code, QuoteRequest(packing="9"), sizes=["6x8cm", "12x15cm"])
    return proposal_files.write(studio, view, settings.current(studio), tmp_path)[0].path


@pytest.fixture
def shown(studio: Studio, photo: Path, tmp_path: Path) -> Path:
    """A portfolio of four pieces: a long name, and a client who writes from the right."""
    said = ConsentGiven(answer="yes", how="in a mail", with_name=True)
    for title, client in (("Donaudampfschifffahrtsgesellschaftskapitän " * 3, "Ida"), ("Fox", ""),
                          ("Two cats", "דנה כהן"), ("Owl", "Bo")):  # fmt: skip
        code = commissions.add(studio, Wishes(title=title, client=client or None)).code
        photos.add(studio, code, photo)
        endings.deliver(studio, code)
        consents.note(studio, code, said.model_copy(update={"said_by": client or "myself"}))
    own, wanted = settings.current(studio), PortfolioWanted(hours=True, price=True)
    return portfolio_files.write(studio, portfolio.shown(studio), own, wanted, tmp_path)[0].path


@pytest.mark.long
@pytest.mark.parametrize("width", [390, 768, 1280])
def test_a_portfolio_fits_and_stands_on_one_line(shown: Path, width: int) -> None:
    script = _LAYOUT.replace("WIDTH", str(width)).replace(".row img, .paper", "figure img")
    found = told(shown, script, "--window-size=1400,2000")
    assert found["over"] <= 0
    assert found["loaded"]
    assert found["smallest"] >= 13
    assert len(found["widths"]) == 4
    assert max(found["widths"]) - min(found["widths"]) < 1


@pytest.mark.skipif(not AXE, reason="AXE_CORE does not name axe-core's file")
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_a_portfolio(shown: Path, scheme: str) -> None:
    assert faults(shown, scheme) == []


@pytest.mark.long
@pytest.mark.parametrize("width", [390, 768, 1280])
def test_nothing_hangs_over_and_sizes_are_in_true_relation(page: Path, width: int) -> None:
    found = told(page, _LAYOUT.replace("WIDTH", str(width)), "--window-size=1400,2000")
    assert found["over"] <= 0
    assert found["loaded"]
    assert found["smallest"] >= 13
    # 6, 9 and 12 cm wide beside a bank card or a sheet of A4, and as high as they are.
    mm = [60, 90, 120, 210]
    scale = [each / true for each, true in zip(found["widths"], mm, strict=True)]
    assert max(scale) / min(scale) < 1.02
    tall = [each / true for each, true in zip(found["heights"], [80, 110, 150, 297], strict=True)]
    assert max(tall) / min(tall) < 1.03
    assert max(tall) / max(scale) == pytest.approx(1, abs=0.03)


@pytest.mark.long
def test_on_paper_it_is_few_pages_with_everything(page: Path, tmp_path: Path) -> None:
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'print.pdf'}")
    printed = PdfReader(tmp_path / "print.pdf").pages
    text = " ".join(" ".join(one.extract_text() for one in printed).split())
    assert len(printed) <= 4
    for words in ("Sizes in true relation", "How to say yes", "Your rights", "€"):
        assert words in text


@pytest.mark.skipif(not AXE, reason="AXE_CORE does not name axe-core's file")
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(page: Path, scheme: str) -> None:
    assert faults(page, scheme) == []

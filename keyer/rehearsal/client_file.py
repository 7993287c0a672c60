"""The client view as one HTML file: chosen stills with a field for remarks, read back in later.

It opens anywhere and fetches nothing. What is written in it is saved by the
browser as a small JSON file, which the page reads.
"""

from __future__ import annotations

import base64
import hashlib
import json
from typing import Any

from markupsafe import Markup

from keyer.errors import InputFileError
from keyer.rehearsal.edits import Edit
from keyer.rehearsal.pictures import eight_bits, jpeg
from keyer.render.plan import Plan
from keyer.render.recipe import program
from keyer.render.still import frame_picture
from keyer.report.cue_sheets.cues import cue_facts
from keyer.report.page.render import data_uri, render_page
from keyer.report.words import cue_name
from keyer.sheet.sheet import Sheet

MOST_REMARKS = 500
MOST_LETTERS = 500

_SCRIPT = """
document.getElementById("keep").addEventListener("click", function () {
  var by = document.getElementById("by").value.trim(), remarks = [];
  document.querySelectorAll(".still").forEach(function (still) {
    var text = still.querySelector("textarea").value.trim();
    if (text) remarks.push({ at: Number(still.dataset.frame), text: text, by: by });
  });
  var said = JSON.stringify({ digest: document.querySelector(".digest").textContent, remarks: remarks }, null, 1);
  document.getElementById("text").textContent = said;
  var link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([said], { type: "application/json" }));
  link.download = "remarks.json";
  link.click();
});
"""  # noqa: E501


def client_page(sheet: Sheet) -> str:
    """Write the client view as one HTML file.

    Parameters
    ----------
    sheet : Sheet
        Its chosen stills are shown; where none is chosen, each shot once it has come.

    Returns
    -------
    str
        HTML.

    Raises
    ------
    KeyerError
        If a picture cannot be drawn.
    """
    frames = sheet.stills or tuple(
        min(cue.at + cue.transition.length, sheet.length - 1) for cue in sheet.cues
    )
    with Plan(sheet) as plan:
        stills = [_still(sheet, plan, frame) for frame in frames]
    digest = hashlib.sha256(_SCRIPT.encode()).digest()
    return render_page(
        "client.html.j2",
        title=sheet.title or sheet.name,
        facts=cue_facts(sheet),
        stills=stills,
        name=sheet.name,
        digest=sheet.digest,
        program=program(),
        script=Markup(_SCRIPT),  # noqa: S704  our own, and named by its digest in the policy
        script_hash=f"sha256-{base64.b64encode(digest).decode()}",
    )


def _still(sheet: Sheet, plan: Plan, frame: int) -> dict[str, Any]:
    return {
        "frame": frame,
        "time": sheet.label(frame),
        "name": cue_name(sheet.base_at(frame).cue),
        "picture": data_uri(jpeg(eight_bits(frame_picture(plan, frame))), "image/jpeg"),
        "remarks": [remark.text for remark in sheet.remarks if remark.at == frame],
    }


def read_remarks(data: bytes, sheet: Sheet, there: int) -> list[Edit]:
    """Read remarks that came back, as edits of the sheet.

    Parameters
    ----------
    data : bytes
        The JSON that the file saved.
    sheet : Sheet
    there : int
        How many remarks the sheet has already.

    Raises
    ------
    InputFileError
        If it is something else.
    """
    try:
        said = json.loads(data)["remarks"]
        remarks = [
            {
                "at": min(max(int(one["at"]), 0), sheet.length - 1),
                "text": str(one["text"])[:MOST_LETTERS],
                "by": str(one.get("by", ""))[:80],
            }
            for one in said[:MOST_REMARKS]
        ]
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        msg = "that is not a file of remarks. Take the one that the client has saved."
        raise InputFileError(msg) from None
    known = {(remark.at, remark.text, remark.by) for remark in sheet.remarks}
    new = [one for one in remarks if (one["at"], one["text"], one["by"]) not in known]
    kept = [{k: v for k, v in one.items() if v != ""} for one in new if str(one["text"]).strip()]
    return [Edit("insert", f"remarks[{there + n}]", one) for n, one in enumerate(kept)]

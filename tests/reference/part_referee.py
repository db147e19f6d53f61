"""Builds the parts of jobs from the numbers of their reports, by OpenCascade.

usage: part_referee.py MANIFEST.json

The manifest is a list of cases: its `name`, the path of its `report.json`, and `prefix`,
what the paths of its STEP files begin with. A part is built from what was
entered and computed, as an engineer would: cylinders, boxes, frusta and lofts,
fused and cut. Nothing of borewright's geometry is used but the STEP file that
the result is compared with: by the volume that is in one of the two only, in
two ways. Where a message says that feathers were cut off, nothing may be there
that was not built, and each piece that is missing must be thinner in the mean
than the printer's least wall, as a wedge or fin is.

Prints a summary and one line per fault, and writes verdict.json beside the
manifest: for each kind, how many parts are the same and what features they
have. Exits with 1 if there is any fault.
"""

import collections
import json
import math
import sys
import time
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from OCP.BRepCheck import BRepCheck_Analyzer

import parts_cover
import parts_cradle
import parts_kill
import parts_mount
import parts_plate
import parts_plug
import parts_ring
import parts_seat
import parts_sled
import parts_speaker
import parts_spine
import parts_tray
from kernel import apart, measures, quiet, read, trimmed

KINDS = {
    "crystal_cradle": parts_cradle, "switch_plate": parts_plate, "cell_tray": parts_tray,
    "speaker_cup": parts_speaker, "board_sled": parts_sled, "kill_pocket": parts_kill,
    "locking_seat": parts_seat, "front_mount": parts_mount, "display_plug": parts_plug,
    "wire_cover": parts_cover, "adapter_ring": parts_ring, "spine": parts_spine,
}

# Volume in one solid only, relative to the solid.
APART = 1e-6
# What a part's message says where feathers were cut off, and the most of its
# volume that they may have. A plate's land with its wedges is the fullest.
FEATHERS, MOST_FEATHERS = "wedges and fins", 0.05


def plain(entered):
    """What was entered, without units and origins."""
    if isinstance(entered, list):
        return [plain(item) for item in entered]
    if not isinstance(entered, dict):
        return entered
    if "value" in entered and "from" in entered:
        return entered["value"]
    return {key: plain(value) for key, value in entered.items()}


def measured(one, other):
    """Largest relative difference of volume, area, centroid and inertia: says
    whether it is the booleans that fail, or the part that differs."""
    (v, a, c, i), (w, b, d, j) = measures(one), measures(other)
    errors = [abs(v - w) / v, abs(a - b) / a, np.linalg.norm(c - d) / math.cbrt(v)]
    return max(*errors, np.linalg.norm(i - j) / np.linalg.norm(i))


def judge_trimmed(verdict, name, found, shape, job):
    """Of a body without feathers: adds to its part's verdict."""
    beyond, pieces = found
    least = job["print"]["printer"]["wall_supported"]
    verdict["worst"] = max(verdict["worst"], beyond)
    if not beyond <= APART:
        verdict["faults"].append(f"{name}: {beyond:.3g} in one only, which was not built")
    for size, thick in pieces:
        if not 0 < thick <= least:
            verdict["faults"].append(
                f"{name}: what is cut off, {size:.3g} mm3, is {thick:.3g} mm thick in the mean")
    share = sum(size for size, _ in pieces) / measures(shape)[0]
    verdict["feathers"] = max(verdict["feathers"], share)
    if share > MOST_FEATHERS:
        verdict["faults"].append(f"{name}: {share:.3g} of the volume is cut off as feathers")


def judge(task):
    folder, case = task
    report = json.loads((folder / case["report"]).read_text())
    job = {"handle": plain(report["handle"]["inputs"]), "print": plain(report["print"])}
    out = []
    for part in report["parts"]:
        began = time.process_time()
        kind, entered = KINDS[part["kind"]], plain(part["inputs"])
        said = {
            body["name"]: any(FEATHERS in m["text"] for m in body["messages"])
            for body in part["bodies"]
        }
        bodies = {
            body["name"]: {row["key"]: row["value"] for row in body["computed"]}
            for body in part["bodies"]
        }
        verdict = {"name": f"{case['name']}: {part['name']}", "kind": part["kind"], "bodies": 0,
                   "trimmed": 0, "feathers": 0.0, "features": sorted(kind.features(entered)), "faults": [], "worst": 0.0}
        out.append(verdict)
        try:
            built = kind.build(job, entered, bodies)
        except (ValueError, RuntimeError, IndexError, KeyError) as error:
            verdict["faults"].append(f"cannot be built: {error!r}")
            continue
        for name, shape in built.items():
            ours = read(folder / f"{case['prefix']}{name}.step")
            if not BRepCheck_Analyzer(shape, True).IsValid():
                verdict["faults"].append(f"{name}: what was built is not valid")
            if said[name]:
                found = trimmed(shape, ours, APART)
                if found[1]:
                    verdict["bodies"] += 1
                    verdict["trimmed"] += 1
                    judge_trimmed(verdict, name, found, shape, job)
                    continue
                # What was cut off is less than crumbs: the two must be the same.
            cuts, common = apart(shape, ours, APART)
            worst = max(cuts, common)
            verdict["bodies"] += 1
            verdict["worst"] = max(verdict["worst"], worst)
            if not worst <= APART:
                off = measured(shape, ours)
                verdict["faults"].append(
                    f"{name}: {cuts:.3g} in one only, {common:.3g} by the common part, "
                    f"measures off by {off:.3g}"
                )
        verdict["seconds"] = time.process_time() - began
    return out


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    quiet()
    path = Path(sys.argv[1])
    cases = json.loads(path.read_text())
    with Pool(2) as pool:
        found = pool.map(judge, [(path.parent, case) for case in cases], chunksize=2)
    verdicts = [verdict for case in found for verdict in case]
    faults, seen = 0, {}
    for kind in KINDS:
        of = [v for v in verdicts if v["kind"] == kind]
        if not of:
            continue
        for verdict in of:
            for fault in verdict["faults"]:
                faults += 1
                print(f"FAULT {verdict['name']} ({', '.join(verdict['features'])}): {fault}")
        good = [v for v in of if not v["faults"]]
        worst = max((v["worst"] for v in good), default=0.0)
        print(f"{kind}: {len(good)} of {len(of)} parts with {sum(v['bodies'] for v in of)} bodies "
              f"built again are the same: at most {worst:.1e} of the volume is in one only; "
              f"{sum(v.get('seconds', 0) for v in of):.0f} s")
        lean = [v for v in good if v["trimmed"]]
        if lean:
            most = max(v["feathers"] for v in lean)
            print(f"  {len(lean)} of these are the same but for feathers that were cut off, at most "
                  f"{most:.1e} of the volume")
        counts = collections.Counter(f for v in good for f in v["features"])
        seen[kind] = {"same": len(good), "trimmed": len(lean), "features": counts}
        print("  " + ", ".join(f"{name} {count}" for name, count in sorted(counts.items())))
    (path.parent / "verdict.json").write_text(json.dumps(seen))
    sys.exit(1 if faults or not verdicts else 0)


if __name__ == "__main__":
    main()

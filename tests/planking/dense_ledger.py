"""A second ledger, written from the model alone: every unknown by name, one dense solve. It judges the real
one."""

import numpy as np

from planking.ledger_tables import Habits
from planking.opening import Opening
from planking.scatter import Scatter

FREE_SD, GIRTH_PLANNED_U = 5.0, 0.25


class DenseLedger:
    """Unknowns u ~ N(m, P), readings y = H u + e; the posterior of everything at once."""

    def __init__(self, opening: Opening, scatter: Scatter, habits: Habits) -> None:
        self.opening, self.scatter, self.habits = opening, scatter, habits
        self.index: dict[tuple, int] = {}
        self.mean: list[float] = []
        self.sd: list[float] = []
        self.lines: list[tuple[dict[tuple, float], float, float]] = []
        self.order = [one.label for one in opening.hung_in_order]
        self.order += [one.label for one in opening.strakes if one.state == "cut"]
        self.name_unknowns()
        self.read_rows()
        self.solve()

    def unknown(self, key: tuple, mean: float, sd: float) -> None:
        self.index[key] = len(self.mean)
        self.mean.append(mean)
        self.sd.append(max(sd, 1e-6))

    def name_unknowns(self) -> None:
        one, habits = self.opening, self.habits
        for epoch in one.epochs:
            self.unknown(("z", epoch.name), epoch.zero_offset_mm, epoch.u_zero_mm)
        self.unknown(("seam",), one.seam_mm, one.u_seam_mm)
        self.unknown(("mu",), 0.0, habits.common_mm)
        self.unknown(("nu", "wale"), 0.0, habits.run_mm)
        self.unknown(("nu", "keel"), 0.0, habits.run_mm)
        for label in self.order:
            self.unknown(("b", label), 0.0, self.scatter.cut_mm2**0.5)
        for epoch in one.epochs:
            for label in self.read_in(epoch.name)[1:]:
                self.unknown(("d", epoch.name, label), 0.0, habits.zero_step_mm)
        for station in one.stations:
            name = station.name
            girth = one.girth_at.get(name)
            planned = (one.girth_planned_mm or {}).get(name)
            if girth is not None:
                self.unknown(("G", name), girth.girth_mm, girth.u_mm)
            elif planned is not None:
                self.unknown(("G", name), planned, GIRTH_PLANNED_U)
            else:
                total = sum(strake.planned_mm.get(name, 0.0) for strake in one.strakes)
                self.unknown(("G", name), total, 100.0)
            self.unknown(("eta", name), 0.0, habits.station_mm)
            for label in self.order:
                self.unknown(
                    ("c", label, name), 0.0, FREE_SD if self.is_free(label) else self.scatter.station_mm2**0.5
                )
                self.unknown(("s", label, name), 0.0, one.seam_scatter_mm)

    def read_in(self, epoch: str) -> list[str]:
        read = {one.strake for one in self.opening.widths if one.epoch == epoch}
        return [label for label in self.order if label in read]

    def is_free(self, label: str) -> bool:
        return self.opening.strake_by_label[label].run == "closing"

    def width(self, label: str, station: str) -> tuple[dict[tuple, float], float]:
        strake = self.opening.strake_by_label[label]
        if station not in strake.planned_mm:
            return {}, 0.0
        h = {("c", label, station): 1.0}
        if not self.is_free(label):
            h |= {("mu",): 1.0, ("b", label): 1.0, ("eta", station): 1.0}
            if strake.run in ("wale", "keel"):
                h[("nu", strake.run)] = 1.0
        return h, strake.aimed_at_mm(station)

    def zero(self, epoch: str, label: str) -> dict[tuple, float]:
        h = {("z", epoch): 1.0}
        order = self.read_in(epoch)
        for other in order[1 : order.index(label) + 1]:
            h[("d", epoch, other)] = 1.0
        return h

    def sum_of(self, labels: list[str], station: str, seams: int) -> tuple[dict[tuple, float], float]:
        h: dict[tuple, float] = {}
        const = 0.0
        here = [
            label
            for label in self.order
            if label in labels and station in self.opening.strake_by_label[label].planned_mm
        ]
        for label in here:
            one, aim = self.width(label, station)
            for key, value in one.items():
                h[key] = h.get(key, 0.0) + value
            const += aim
        for label in here[max(0, len(here) - seams) :]:
            h[("s", label, station)] = 1.0
        h[("seam",)] = h.get(("seam",), 0.0) + seams
        return h, const

    def read_rows(self) -> None:
        one = self.opening
        for width in one.widths:
            if width.strake not in self.order:
                continue
            h, aim = self.width(width.strake, width.station)
            u = one.epoch_by_name[width.epoch].u_reading_mm if width.u_mm is None else width.u_mm
            self.lines.append((h | self.zero(width.epoch, width.strake), width.width_mm - aim, max(u, 1e-4)))
        for gap in one.gaps:
            h, const = self.sum_of(sorted(gap.hung), gap.station, one.seams_hung(gap.station, gap.hung))
            h = {key: -value for key, value in h.items()} | {("G", gap.station): 1.0}
            if gap.epoch is not None:
                h[("z", gap.epoch)] = h.get(("z", gap.epoch), 0.0) + 1.0
            self.lines.append((h, gap.gap_mm + const, max(gap.u_mm, 1e-4)))
        for edge in one.edges:
            labels = [strake.label for strake in one.strakes_at(edge.station)]
            at = labels.index(edge.strake)
            labels = labels[: at + 1] if edge.from_line == "keel" else labels[at:]
            h, const = self.sum_of(labels, edge.station, one.seams_hung(edge.station, labels))
            self.lines.append((h, edge.distance_mm - const, max(edge.u_mm, 1e-4)))
        for check in one.zero_checks:
            self.lines.append(({("z", check.epoch): 1.0}, check.offset_mm, max(check.u_mm, 1e-6)))

    def row(self, h: dict[tuple, float]) -> np.ndarray:
        row = np.zeros(len(self.mean))
        for key, value in h.items():
            row[self.index[key]] = value
        return row

    def prior(self) -> np.ndarray:
        """The covariance before any row."""
        return np.diag(np.array(self.sd) ** 2)

    def solve(self) -> None:
        mean, prior = np.array(self.mean), self.prior()
        self.post_mean, self.post = mean, prior
        if self.lines:
            h = np.array([self.row(one) for one, _, _ in self.lines])
            y = np.array([value for _, value, _ in self.lines])
            r = np.diag([u**2 for _, _, u in self.lines])
            gain = np.linalg.solve(h @ prior @ h.T + r, h @ prior).T
            self.post_mean = mean + gain @ (y - h @ mean)
            self.post = prior - gain @ h @ prior
            self.chi2 = float((y - h @ mean) @ np.linalg.solve(h @ prior @ h.T + r, y - h @ mean))

    def room(self) -> tuple[np.ndarray, np.ndarray]:
        rows, consts, extra = [], [], []
        one = self.opening
        hung = [strake.label for strake in one.strakes if strake.is_hung]
        cut = [strake.label for strake in one.strakes if strake.state == "cut"]
        for station in one.stations:
            seams = one.seams_hung(station.name)
            to_go = one.seams_in_all(station.name) - seams
            h, const = self.sum_of(hung, station.name, seams)
            more, other = self.sum_of(cut, station.name, 0)
            for key, value in more.items():
                h[key] = h.get(key, 0.0) + value
            h = {key: -value for key, value in h.items()} | {("G", station.name): 1.0}
            h[("seam",)] = h.get(("seam",), 0.0) - to_go
            rows.append(self.row(h))
            consts.append(-const - other)
            here = [label for label in hung if station.name in one.strake_by_label[label].planned_mm]
            extra.append((one.seams_in_all(station.name) - min(seams, len(here))) * one.seam_scatter_mm**2)
        h = np.array(rows)
        return np.array(consts) + h @ self.post_mean, h @ self.post @ h.T + np.diag(extra)

"""What belongs to a table and its setting, not to a row: worked out once, sent to every worker."""

from __future__ import annotations

from feedchar.batch.capture import KeptOfSize, Machine, kept_of_size, machine_of
from feedchar.batch.columns import TableColumns
from feedchar.batch.drawn import Drawn
from feedchar.batch.sizes import SizeKey, table_sizes
from feedchar.field.setting import Setting
from feedchar.sample.records import Limit
from feedchar.separation.load import MAGNETICS_LIMIT
from feedchar.separation.parameters import Calibration

MOST_SIZES_KEPT = 64
LOADS = (MAGNETICS_LIMIT, 0.3, 0.45, 0.7, 1.0)
"""Shares of magnetics on the belt at which a buried belt is worked out; between them what stays is
interpolated in the logarithm of the share. [-]"""


class Table:
    """One table's draws, machine and demands, and what was worked out for its sizes so far."""

    def __init__(
        self,
        drawn: Drawn,
        setting: Setting,
        columns: TableColumns,
        limit: Limit | None,
        calibration: Calibration | None = None,
    ) -> None:
        """Work out the shares that stay on a belt with room.

        Parameters
        ----------
        drawn : Drawn
            Draws of the table. [-]
        setting : Setting
            The machine, with passes. [SI]
        columns : TableColumns
            Whether rows may have sizes or assays of their own. [-]
        limit : Limit or None
            What is asked. [-]
        calibration : Calibration or None
            What tests taught of the machine. [SI]
        """
        self._calibration = calibration
        self.drawn, self.limit = drawn, limit
        self._setting, self._columns = setting, columns
        self._machines = {0: self._machine(0.0)}
        self._kept: dict[tuple[SizeKey, str | None, bool, int], KeptOfSize] = {}

    @property
    def machine(self) -> Machine:
        """Of a belt with room."""
        return self._machines[0]

    def kept(self, key: SizeKey, origin: str | None, fitted: bool, rung: int = 0) -> KeptOfSize:
        """Shares that stay for one size, origin and load of the belt, kept for the rows to come.

        Parameters
        ----------
        key : tuple of int or None
            Size of the rows. [-]
        origin : str or None
            Their origin. [-]
        fitted : bool
            True for rows whose iron an assay moved. [-]
        rung : int
            Place in LOADS. [-]

        Returns
        -------
        KeptOfSize
            Summed over the sizes. [-]
        """
        name = (key, origin, fitted, rung)
        if name not in self._kept:
            if len(self._kept) >= MOST_SIZES_KEPT:
                self._kept.clear()
            machine = self._loaded(rung)
            kept = machine.at_nodes if fitted else machine.as_drawn
            if kept is None:
                message = "a table without columns of assays has no rows with an assay"
                raise RuntimeError(message)
            self._kept[name] = kept_of_size(machine, kept, key, self.drawn.forms[origin])
        return self._kept[name]

    def _loaded(self, rung: int) -> Machine:
        if rung not in self._machines:
            self._machines[rung] = self._machine(LOADS[rung])
        return self._machines[rung]

    def _machine(self, magnetics_share: float) -> Machine:
        has_sizes = self._columns.has_sizes
        return machine_of(
            self.drawn,
            self._setting,
            table_sizes(has_sizes),
            bool(self._columns.oxides),
            has_sizes,
            magnetics_share,
            self._calibration,
        )

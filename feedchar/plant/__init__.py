"""Circuits at full size: steps and routes, streams with recycles, belts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.plant.circuit import Circuit, Step, check_circuit
    from feedchar.plant.circuit_file import read_circuit
    from feedchar.plant.flow import solve_flows
    from feedchar.plant.standard import standard_circuits

__all__ = [
    "Circuit",
    "Step",
    "check_circuit",
    "read_circuit",
    "solve_flows",
    "standard_circuits",
]

__getattr__ = front_door(
    __name__,
    {
        "Circuit": "feedchar.plant.circuit",
        "Step": "feedchar.plant.circuit",
        "check_circuit": "feedchar.plant.circuit",
        "read_circuit": "feedchar.plant.circuit_file",
        "solve_flows": "feedchar.plant.flow",
        "standard_circuits": "feedchar.plant.standard",
    },
)

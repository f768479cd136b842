"""Runs of circuits as result records."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feedchar.assembly.feed import oxide_summaries
from feedchar.assembly.plant_runs import Plant
from feedchar.assembly.product import answer_result
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.field.working import working_field
from feedchar.plant.belts import belts_of
from feedchar.plant.circuit import ENDS, ROLL, Circuit
from feedchar.plant.scale_up import Belt, Run, iron_removal_pct, sand_lost_pct
from feedchar.results.plant import PlantCircuit, PlantOutlet, PlantStep, PlantStream
from feedchar.sample.records import Note
from feedchar.uncertainty.summary import summarise

FE2O3 = OXIDES.index("Fe2O3")
_PLACES = {"product": "non_magnetics", "reject": "magnetics", "dust": "middlings"}


def circuit_result(
    plant: Plant, run: Run, chosen: bool, chosen_by: str, bench_t_h_m: float | None
) -> PlantCircuit:
    """One circuit as the document shows it.

    Parameters
    ----------
    plant : Plant
        Feed, machine, limit. [-]
    run : Run
        The circuit. [-]
    chosen : bool
        Whether it is the one chosen. [-]
    chosen_by : str
        given | searched. [-]
    bench_t_h_m : float or None
        Feed per metre of the bench tests. [t h⁻¹ m⁻¹]

    Returns
    -------
    PlantCircuit
        Streams and steps of the typical case, outlets over the trials. [-]
    """
    verdict = answer_result(plant.verdict(run, open_case=False), plant.limit)
    made = {name: _outlet(run, place) for name, place in _PLACES.items()}
    return PlantCircuit(
        circuit=run.circuit.name,
        words=run.circuit.words,
        steps=_steps(plant, run, bench_t_h_m),
        streams=_streams(run),
        product=made["product"],
        reject=made["reject"],
        dust=made["dust"],
        iron_removal_pct=summarise(iron_removal_pct(run)),
        sand_lost_pct=summarise(sand_lost_pct(run)),
        status=verdict.status,
        chance_of_meeting_limit=verdict.chance_of_meeting_limit,
        rows=verdict.rows,
        belt_m=run.metres,
        lost_t_h=float(run.lost_t_h[0]),
        cost=plant.cost(run),
        closure_t_h=run.streams.closure_t_h,
        chosen=chosen,
        chosen_by=chosen_by,
    )


def alike_notes(results: Sequence[PlantCircuit]) -> tuple[Note, ...]:
    """Circuits that come to the same thing as one before them.

    Parameters
    ----------
    results : sequence of PlantCircuit
        In the order compared. [-]

    Returns
    -------
    tuple of Note
        One a circuit that takes the same belt and makes the same product as a simpler one. [-]
    """
    notes = []
    for place, one in enumerate(results):
        same = next((other for other in results[:place] if _figures_alike(one, other)), None)
        if same is None:
            continue
        machines = {
            (step.roll, step.belt_speed_m_s, step.splitter_m, step.splitter_2_m)
            for step in one.steps
            if step.belt_speed_m_s is not None
        }
        why = "its rolls run alike and " if len(machines) == 1 else ""
        text = (
            f"{one.circuit} comes to the same as {same.circuit}: {why}"
            "belt and product are equal, so it gains nothing here"
        )
        notes.append(Note("circuits-alike", text))
    return tuple(notes)


def _figures_alike(one: PlantCircuit, other: PlantCircuit) -> bool:
    figures = [
        (each.belt_m, each.product.t_h.typical, each.product.assay_wt_pct["Fe2O3"].typical)
        for each in (one, other)
    ]
    return all(
        first == second
        or (first is not None and second is not None and abs(first - second) <= 1e-4 * abs(second))
        for first, second in zip(*figures, strict=True)
    )


def _outlet(run: Run, place: str) -> PlantOutlet:
    outlet = getattr(run.outlets, place)
    return PlantOutlet(
        t_h=summarise(run.feed_t_h * outlet.mass),
        per_100_dry_bag=summarise(100.0 * outlet.mass),
        assay_wt_pct=oxide_summaries(outlet.assay_wt_pct),
        iron_share_pct=summarise(run.outlets.iron_split_pct()[place]),
    )


def _streams(run: Run) -> tuple[PlantStream, ...]:
    made = []
    for step in run.circuit.steps:
        for outlet in step.outlets:
            mass = float(run.streams.mass[step.name, outlet].sum())
            iron = float(run.streams.oxides[step.name, outlet][FE2O3])
            target = step.routes[outlet]
            made.append(
                PlantStream(
                    from_step=step.name,
                    outlet=outlet.replace("_", "-"),
                    to=target,
                    t_h=run.feed_t_h * mass,
                    Fe2O3_wt_pct=iron / mass if mass > 0.0 else None,
                    returns=target not in ENDS and returns(run.circuit, step.name, target),
                )
            )
    return tuple(made)


def returns(circuit: Circuit, source: str, target: str) -> bool:
    """Whether a stream goes back to a step from which its own step is fed.

    Parameters
    ----------
    circuit : Circuit
        Steps and routes. [-]
    source, target : str
        Steps. [-]

    Returns
    -------
    bool
        True where the target stands before the source, or is it. [-]
    """
    order = [step.name for step in circuit.steps]
    return order.index(target) <= order.index(source)


def _steps(plant: Plant, run: Run, bench_t_h_m: float | None) -> tuple[PlantStep, ...]:
    belts = {belt.step.name: belt for belt in run.belts}
    made = []
    for step in run.circuit.steps:
        rate = run.feed_t_h * float(run.streams.feed[step.name].sum())
        if step.kind == ROLL:
            made.append(_roll_step(plant, belts[step.name], bench_t_h_m))
        else:
            made.append(PlantStep(step.name, step.kind, rate, step.cuts_um))
    return tuple(made)


def _roll_step(plant: Plant, belt: Belt, bench_t_h_m: float | None) -> PlantStep:
    step, machine = belt.step, belt.step.machine
    field = working_field(plant.setting)
    loaded = belt.feed_t_h / belt.installed_m
    return PlantStep(
        step=step.name,
        kind=step.kind,
        feed_t_h=belt.feed_t_h,
        cuts_um=(),
        roll=field.name if step.roll is None else step.roll.roll,
        belt_speed_m_s=machine.belt_speed_m_s,
        splitter_m=machine.splitter_m,
        splitter_2_m=machine.splitter_2_m,
        sauter_mean_um=1e6 * belt.lay.sauter_m,
        capacity_t_h_m=belt.capacity_t_h_m,
        belt_m=belt.metres,
        units=belt.units,
        unit_width_m=belt.width_m,
        one_metre_belts=belts_of(belt.metres, 1.0),
        feed_t_h_m=loaded,
        magnetics_on_belt_pct=100.0 * belt.magnetics_share,
        over_bench_rate=None if not bench_t_h_m else float(np.divide(loaded, bench_t_h_m)),
    )

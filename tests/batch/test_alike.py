"""Feeds that answer the machine alike are found, and so is the one that stands for each group."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.batch import alike as room
from feedchar.batch.alike import alike, scaled

CENTRES = np.array([[-2.0, 90.0, 60.0], [-1.0, 95.0, 40.0], [0.5, 80.0, 75.0]])
SIZES = (60, 30, 10)


def feeds():
    random = np.random.default_rng(8)
    label = np.repeat(np.arange(3), SIZES)
    return CENTRES[label] + [0.05, 0.3, 0.5] * random.standard_normal((100, 3)), label


def test_three_kinds_of_feed_are_three_groups_the_largest_first():
    responses, label = feeds()
    found = alike(responses, 3, 3, 1)
    assert found.label.tolist() == label.tolist()
    assert label[found.chosen].tolist() == [0, 1, 2]
    assert found.explained_share > 0.95


def test_the_chosen_feed_is_the_one_nearest_to_the_middle_and_its_stand_ins_are_nearest_to_it():
    responses, label = feeds()
    found = alike(responses, 3, 0, 1)
    space = scaled(responses)
    for group in range(3):
        members = np.flatnonzero(label == group)
        middle = space[members].mean(axis=0)
        away = np.linalg.norm(space[members] - middle, axis=1)
        assert found.chosen[group] == members[np.argmin(away)]
        near = np.linalg.norm(space[members] - space[found.chosen[group]], axis=1)
        assert list(found.stand_ins[group]) == members[np.argsort(near)[1:3]].tolist()


def test_the_order_of_the_feeds_changes_nothing():
    responses, _ = feeds()
    found = alike(responses, 4, 2, 1)
    turned = np.random.default_rng(3).permutation(100)
    again = alike(responses[turned], 4, 2, 1)
    assert turned[again.chosen].tolist() == found.chosen.tolist()
    assert again.label.tolist() == found.label[turned].tolist()


def test_a_feed_like_no_other_is_named_and_makes_no_group_of_its_own():
    responses, _ = feeds()
    responses[17] = [4.0, 30.0, 5.0]
    found = alike(responses, 3, 3, 1)
    assert found.odd == (17,)
    assert 17 not in found.chosen


def test_feeds_that_are_all_alike_are_one_group():
    found = alike(np.tile([[1.0, 2.0]], (9, 1)), 4, 3, 1)
    assert len(found.chosen) == 1
    assert found.explained_share == 1.0
    assert found.odd == ()


def test_a_long_table_is_grouped_from_a_part_of_it_as_from_the_whole(monkeypatch):
    responses, label = feeds()
    monkeypatch.setattr(room, "MOST_FITTED", 40)
    assert alike(responses, 3, 0, 1).label.tolist() == label.tolist()


@pytest.mark.parametrize("rows", [1, 2])
def test_hardly_any_feeds_are_still_grouped(rows):
    found = alike(np.arange(2.0 * rows).reshape(rows, 2), 6, 3, 1)
    assert sorted(found.chosen.tolist()) == list(range(rows))

"""What to test and what the test taught: balances, sampling, comparison."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.testwork.balance import two_product
    from feedchar.testwork.flows import reconcile_flows
    from feedchar.testwork.sampling import fundamental_sampling_error
    from feedchar.testwork.three_product import three_product

__all__ = ["fundamental_sampling_error", "reconcile_flows", "three_product", "two_product"]

__getattr__ = front_door(
    __name__,
    {
        "fundamental_sampling_error": "feedchar.testwork.sampling",
        "reconcile_flows": "feedchar.testwork.flows",
        "three_product": "feedchar.testwork.three_product",
        "two_product": "feedchar.testwork.balance",
    },
)

"""What the hub's rules cost a push, against the plainest COPY that may be repeated, in the same run."""

from tests.bench import floors
from tests.hub.conftest import Hub
from tests.hub.worlds import LOG, chain, device


def test_a_push_is_not_much_slower_than_a_bare_copy(hub: Hub) -> None:
    """0.3 of its rate here, where other tests run beside it; the bench asks for half."""
    from seasonlog.hub.rows import push

    rows = chain(device("tess"), 15_000, real=False)
    ours, floor = [], []
    with hub.as_("tess") as member, hub.administrator() as plain:
        for start in range(0, 15_000, 5_000):
            part = rows[start : start + 5_000]
            floor.append(floors.seconds(lambda part=part: floors.idempotent_copy(plain, part)))
            ours.append(floors.seconds(lambda part=part: push(member, LOG, part)))
    assert min(floor) / min(ours) >= 0.3

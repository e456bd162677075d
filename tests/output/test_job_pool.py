"""Workers that end, and schedulers that are not there."""

from __future__ import annotations

import socket
import sys
import threading
from contextlib import suppress

import pytest
from rosters import Inline, always_ends, ended_by_three, nothing

from workbench.output.roster import cluster as on_cluster
from workbench.output.roster.cluster import cluster, job_in_helper
from workbench.output.roster.job_pool import MORE, Lost, Workers, default_count, local, outcomes
from workbench.process import Ended, TooLong


def test_a_job_that_ends_its_worker_is_told_and_the_others_are_done() -> None:
    with local(2, nothing) as workers:
        found = dict(outcomes(ended_by_three, range(7), workers))
    lost = found.pop(3)
    assert isinstance(lost, Lost) and "ended" in lost.why
    assert found == {value: 10 * value for value in range(7) if value != 3}


def test_workers_that_all_end_are_not_started_for_ever() -> None:
    with local(1, nothing) as workers:
        found = dict(outcomes(always_ends, range(100), workers))
    assert sorted(found) == list(range(100))
    assert "5 worker processes in a row" in found[99].why and "memory" in found[99].why


def test_only_so_many_jobs_are_handed_out_at_a_time() -> None:
    taken: list[int] = []

    def jobs():
        for value in range(50):
            taken.append(value)
            yield value

    ahead = [
        len(taken) - done
        for done, _found in enumerate(outcomes(str, jobs(), Workers(2, Inline)), 1)
    ]
    assert len(ahead) == 50 and max(ahead) <= 4


def test_an_error_in_a_worker_is_told_for_its_job_only() -> None:
    found = dict(outcomes(lambda value: 12 // value, [3, 0, 4], Workers(1, Inline)))
    assert (found[3], found[4]) == (4, 3)
    assert isinstance(found[0], Lost) and "ZeroDivisionError" in found[0].why


def test_fewer_than_one_worker_is_refused_and_so_are_more_than_the_machine_bears(refused) -> None:
    many = MORE * default_count()
    with local(many, nothing) as found:
        assert found.count == many
    with refused(f"workers is {many + 1}", f"1 to {many}"), local(many + 1, nothing):
        pass
    with refused("workers is 0", "give 1 to"), local(0, nothing):
        pass


def test_a_scheduler_without_its_package_is_told(monkeypatch, refused) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with refused("repair-workbench[cluster]"), cluster("tcp://127.0.0.1:1", nothing):
        pass


@pytest.mark.parametrize(
    ("address", "sentence"),
    [
        ("tcp://127.0.0.1:{port}", "no scheduler answers"),
        ("127.0.0.1:{port}", "no scheduler answers"),
        ("nonsense://x:8786", "give one such as tcp://"),
        ("10.0.0.5", "give one such as tcp://"),
        ("no such place", "give one such as tcp://"),
    ],
)
@pytest.mark.usefixtures("client_collected")
def test_a_scheduler_that_is_not_there_is_told(monkeypatch, refused, address, sentence) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("workbench.output.roster.cluster.ANSWERS_IN", 1)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))  # bound and not listening: nobody answers
        place = address.format(port=free.getsockname()[1])
        with refused(sentence, place, "--scheduler"), cluster(place, nothing):
            pass


@pytest.mark.usefixtures("client_collected")
def test_what_answers_and_is_no_scheduler_is_told(monkeypatch, refused) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("workbench.output.roster.cluster.ANSWERS_IN", 1)

    def answer(listening: socket.socket) -> None:
        with suppress(OSError):
            while True:
                with listening.accept()[0] as asked:
                    asked.sendall(b"HTTP/1.1 400 Bad Request" + b" " * 9000)

    with socket.socket() as web:
        web.bind(("127.0.0.1", 0))
        web.listen()
        threading.Thread(target=answer, args=(web,), daemon=True).start()
        place = f"127.0.0.1:{web.getsockname()[1]}"
        with refused("no scheduler answers", place), cluster(place, nothing):
            pass
        web.shutdown(socket.SHUT_RDWR)


@pytest.mark.parametrize(("error", "tries"), [(TooLong, 1), (Ended, 2)])
def test_a_limit_is_reached_once_on_a_cluster_and_an_ended_worker_tried_twice(
    monkeypatch, error, tries
) -> None:
    """An error that a job raises would have the cluster begin it anew three times."""
    asked = []

    class Limited:
        def do(self, _work, job):
            asked.append(job)
            raise error("it was stopped; change a size")

    monkeypatch.setattr(on_cluster, "_OWN", [Limited()])
    came = job_in_helper(nothing, nothing, 3)
    assert isinstance(came, Lost) and "it was stopped" in came.why
    assert came.ended == (error is Ended) and asked == [3] * tries

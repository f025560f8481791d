"""The API against its own OpenAPI document, by requests that schemathesis makes up: right ones and wrong ones."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.checks import (
    content_type_conformance,
    negative_data_rejection,
    not_a_server_error,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from trug.records.database import Database
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, make_look
from trug.records.reasoning import Reasoner
from trug.records.tables import PlaceRow
from trug.web.api.describe import describe
from trug.web.api.operations import Operation
from trug.web.api.routes import OPERATIONS
from trug.web.app import LOCAL_HOSTS, create_app
from trug.web.site import setting

#: Requests for each operation; the whole file takes less than 40 s.
EXAMPLES = 40
#: Two are left out. ``positive_data_acceptance``: the words of the vocabulary and the calendar decide what is accepted,
#: and 422 is the documented answer. ``unsupported_method`` asks for an Allow header, which is the app's business.
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
#: What is there to be found: put in for made-up path parameters in two of three requests.
KNOWN: dict[str, str] = {}
#: Comparisons and find documents that hold, and what is made up on top of them in every other request.
TAXA = ["galerina-marginata", "flammulina-velutipes"]
FIND = {"date": "2026-10-04", "region": "europe-north", "fruitbodies": [{"stage": "prime", "seen": {"ring": "narrow"}}]}
LOOK = {"character": "ring", "evidence": "narrow", "fruitbody": "a"}
HEALTH = list(HealthCheck)


@pytest.fixture(scope="module")
def schema(
    begun_folder: Path, reasoner: Reasoner, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[schemathesis.BaseSchema]:
    folder = tmp_path_factory.mktemp("fuzzed") / "data"
    shutil.copytree(begun_folder, folder)
    database = Database.open(folder)
    with database.reading() as session:
        owner = str(setting(session, "owner"))
    with database.writing(owner) as unit:
        place = unit.make(PlaceRow(name="Mill wood", lat=55.67641, lon=12.56832, region="europe-north"))
        find = add_find(unit, reasoner, date="2026-10-04", region="europe-north", place_id=place.id, stage="prime")
        body = fruitbodies_of(unit.session, find.id)[0]
        look = make_look(unit, reasoner, find.id, character="spore_print", answer="rust-brown", fruitbody_id=body.id)
        KNOWN.update(find_id=find.id, look_id=look.id, readTreatment="galerina-marginata", readCharacter="ring")
    app = create_app(database, LOCAL_HOSTS | {"testserver"})
    app.state.site.reasoner = reasoner
    describe(app, OPERATIONS)
    yield schemathesis.openapi.from_asgi("/api/openapi.json", app)
    database.close()


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.name)
def test_an_operation_does_what_the_document_says(schema: schemathesis.BaseSchema, operation: Operation) -> None:
    described = schema[operation.path][operation.method]

    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None, suppress_health_check=HEALTH)
    @given(case=st.one_of(*(described.as_strategy(generation_mode=mode) for mode in schemathesis.GenerationMode)))
    def holds(case: schemathesis.Case) -> None:
        put_known(operation, case)
        case.call_and_validate(checks=CHECKS)

    holds()


def put_known(operation: Operation, case: schemathesis.Case) -> None:
    """Put what is there into a part of the right requests, so that the answers to it are seen too."""
    if case.meta is None or not case.meta.generation.mode.is_positive:
        return
    for name, told in case.path_parameters.items():
        known = KNOWN.get(operation.name if name == "code" else name)
        if known and len(str(told)) % 3:
            case.path_parameters[name] = known
    if "with" in case.query and len(str(case.query)) % 3:
        case.query["with"] = TAXA[: 1 + len(case.query["with"]) % 2]
    if isinstance(case.body, dict) and len(case.body) % 2:
        made_up = {k: case.body[k] for k in ("notes", "id", "extra", "time", "sure") if k in case.body}
        case.body = made_up | (LOOK if operation.name == "makeLook" else FIND)

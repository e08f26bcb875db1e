"""A kit as the slices below see it."""

from service.catalog.slots import Slot
from service.compliance.application import Application
from service.fitup.machined import EngineAsMachined
from service.fitup.subject import FitSubject
from service.kits.kit import AssessmentRequest, Kit


def fit_subject(kit: Kit) -> FitSubject:
    """Return what every fit check looks at."""
    return FitSubject(
        family=kit.family,
        parts=kit.parts,
        bore_mm=kit.bore_mm,
        stroke_mm=kit.stroke_mm,
        compression_ratio=kit.compression_ratio,
        compression_range=kit.compression_range,
        octane_aki=kit.octane_aki,
        rev_limit_rpm=kit.rev_limit_rpm,
        model_year=kit.request.model_year,
        use=kit.request.use,
        machined=kit.request.engine.machined,
    )


def application_of(request: AssessmentRequest) -> Application:
    """Return what papers are judged for."""
    return Application(
        family=request.family,
        model_year=request.model_year,
        use=request.use,
        place=request.place,
        competition_declared=request.competition_declared,
        certified_for_road=request.certified_for_road,
        engine_swapped=request.engine_swapped,
        specially_constructed=request.specially_constructed,
        engine_model_year=request.engine_model_year,
        fuel=request.engine.fuel,
        certification=request.emission_certification,
        gross_weight_kg=request.gross_weight_kg,
        vehicle_id=request.vehicle_id,
        engine_serial=request.engine_serial,
        device_tests=request.device_tests,
        changed_on=request.changed_on,
        monitors_incomplete=request.monitors_incomplete,
        altered_slots=_altered_slots(request.engine.machined),
    )


def _altered_slots(machined: EngineAsMachined | None) -> tuple[Slot, ...]:
    """Return the slots whose part was cut; what nobody measured may have been."""
    if machined is None:
        return ()
    banks = (machined.right, machined.left or machined.right)
    cuts: dict[Slot, list[tuple[object, ...]]] = {
        Slot.CYLINDER_HEADS: [(bank.head_mill_mm, bank.intake_face_cut_mm) for bank in banks],
        Slot.INTAKE_MANIFOLD: [
            *((bank.manifold_side_cut_mm,) for bank in banks),
            (machined.end_rail_cut_mm,),
        ],
    }
    # A word says that it is not known; it is no zero.
    return tuple(slot for slot, found in cuts.items() if any(any(cut) for cut in found))

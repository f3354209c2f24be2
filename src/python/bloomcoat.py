# SPDX-License-Identifier: GPL-3.0-or-later
"""Antireflection coatings: the library libbloomcoat from Python.

Thicknesses and wavelengths are in nm, angles in degrees, R, T and A are fractions. N = n - ik with k >= 0. A stack is
a list of (material, thickness_nm) from the incident medium to the substrate, as in the C library. A material is a
number (n, or complex(n, -k)), the name of a table ('MgF2', '517642'), or an array of n, real or complex, on the grid.

Arrays come back as numpy arrays where numpy is installed, else as lists. Wrong input raises bloomcoat.Error with the
library's own sentence. One object belongs to one thread at a time.
"""
import ctypes
import ctypes.util
import math
import os
from ctypes import POINTER, Structure, byref, c_bool, c_char, c_char_p, c_double, c_int, c_long, c_size_t, c_uint
from ctypes import c_ulong, c_void_p

try:
    import numpy
except ImportError:
    numpy = None

__all__ = ["Error", "Tables", "Surface", "Part", "spectrum", "check", "draft", "version"]


def _load():
    path = os.environ.get("BLOOMCOAT_LIBRARY") or ctypes.util.find_library("bloomcoat") or "libbloomcoat.so.0"
    return ctypes.CDLL(path)


_library = _load()
_S, _P = 0, 1
_VALUES, _GRADIENT = 0, 2
_BACKS = ("none", "uncoated", "same")
_QUANTITIES = ("R", "T", "A")
_POLARIZATIONS = ("unpolarized", "s", "p", "each", "s/p")  # the numbering of bc_polarization
_SHA256 = 65


class Error(ValueError):
    """What the library says of an input that is wrong, or of memory that ran out."""


# ---- the structures of the public headers ----


class _BcError(Structure):
    _fields_ = [("status", c_int), ("message", c_char * 1024)]


class _Index(Structure):
    _fields_ = [("n", POINTER(c_double)), ("k", POINTER(c_double))]


class _SurfaceSetup(Structure):
    _fields_ = [("wavelengths", c_size_t), ("wavelength_nm", POINTER(c_double)), ("aoi_rad", c_double),
                ("incident", _Index), ("substrate", _Index), ("materials", c_size_t), ("material", POINTER(_Index)),
                ("max_layers", c_size_t), ("path", c_int), ("invariant_n", POINTER(c_double)), ("values_only", c_bool),
                ("gradient", POINTER(c_double)), ("graded_optical_nm", c_double)]


class _PartSetup(Structure):
    _fields_ = [("front", _SurfaceSetup), ("back", c_int), ("substrate_mm", c_double), ("back_medium", _Index),
                ("back_materials", c_size_t), ("back_index", POINTER(_Index)), ("back_layers", c_size_t),
                ("back_material", POINTER(c_uint)), ("back_thickness_nm", POINTER(c_double)),
                ("back_gradient", POINTER(c_double))]


class _Medium(Structure):
    _fields_ = [("name", c_char * 64), ("dispersion", c_void_p)]


class _Layer(Structure):
    _fields_ = [("material", _Medium), ("thickness_nm", c_double), ("fixed", c_bool)]


class _Stack(Structure):
    _fields_ = [("incident", _Medium), ("substrate", _Medium), ("layers", c_size_t), ("layer", POINTER(_Layer)),
                ("from_substrate", c_bool), ("sha256", c_char * _SHA256)]


class _Back(Structure):
    _fields_ = [("kind", c_int), ("stack", POINTER(_Stack)), ("substrate_mm", c_double)]


class _Spectrum(Structure):
    _fields_ = [("count", c_size_t), ("wavelength_nm", POINTER(c_double)), ("R", POINTER(c_double) * 3),
                ("T", POINTER(c_double) * 3), ("A", POINTER(c_double) * 3), ("memory", c_void_p)]


class _Callout(Structure):  # its beginning: the library makes and reads the rest
    _fields_ = [("name", c_char * 128), ("quantity", c_int), ("statistic", c_int), ("sense", c_int),
                ("limit", c_double)]


class _Callouts(Structure):
    _fields_ = [("count", c_size_t), ("callout", POINTER(_Callout)), ("exported", c_bool),
                ("sha256", c_char * _SHA256)]


class _Finding(Structure):
    _fields_ = [("callout", POINTER(_Callout)), ("substrate", POINTER(_Medium)), ("value", c_double),
                ("limit_used", c_double), ("at_nm", c_double), ("at_aoi_rad", c_double), ("at_polarization", c_int),
                ("passes", c_bool), ("zone", c_void_p)]


class _CheckResult(Structure):
    _fields_ = [("passes", c_bool), ("limit_used", c_double), ("decisive", c_size_t), ("count", c_size_t),
                ("finding", POINTER(_Finding))]


class _Problem(Structure):
    _fields_ = [("callouts", POINTER(_Callouts)), ("incident", _Medium), ("substrates", c_size_t),
                ("substrate", POINTER(_Medium)), ("materials", c_size_t), ("material", POINTER(_Medium)),
                ("back", _Back), ("max_layers", c_size_t), ("minimum_nm", c_double), ("max_total_nm", c_double),
                ("zones", c_size_t), ("zone", c_void_p)]


class _DraftOptions(Structure):
    _fields_ = [("aim", c_int), ("seed", c_ulong), ("effort", c_double), ("threads", c_size_t),
                ("most_work", c_double), ("start", POINTER(_Stack)), ("progress", c_void_p),
                ("progress_context", c_void_p)]


class _Rung(Structure):
    _fields_ = [("stack", _Stack), ("total_nm", c_double), ("limit_used", c_double)]


class _DraftResult(Structure):  # the library's is as long or longer: what follows `rung` is not read here
    _fields_ = [("chosen", c_size_t), ("rungs", c_size_t), ("rung", POINTER(_Rung)), ("rest", c_char * 4096)]


def _declare(name, result, *arguments):
    function = getattr(_library, name)
    function.restype, function.argtypes = result, arguments
    return function


_error = POINTER(_BcError)
_version = _declare("bc_version", c_char_p)
_materials_alloc = _declare("bc_materials_alloc", c_int, POINTER(c_void_p), _error)
_materials_free = _declare("bc_materials_free", None, c_void_p)
_materials_add_folder = _declare("bc_materials_add_folder", c_int, c_void_p, c_char_p, _error)
_medium_find = _declare("bc_medium_find", c_int, c_void_p, c_char_p, c_char_p, POINTER(_Medium), _error)
_dispersion_index = _declare("bc_dispersion_index", c_int, c_void_p, c_size_t, POINTER(c_double), POINTER(c_double),
                             POINTER(c_double), _error)
_surface_alloc = _declare("bc_surface_alloc", c_int, POINTER(_SurfaceSetup), POINTER(c_void_p), _error)
_surface_free = _declare("bc_surface_free", None, c_void_p)
_surface_evaluate = _declare("bc_surface_evaluate", None, c_void_p, c_size_t, POINTER(c_uint), POINTER(c_double),
                             c_int)
_part_alloc = _declare("bc_part_alloc", c_int, POINTER(_PartSetup), POINTER(c_void_p), _error)
_part_free = _declare("bc_part_free", None, c_void_p)
_part_evaluate = _declare("bc_part_evaluate", None, c_void_p, c_size_t, POINTER(c_uint), POINTER(c_double), c_bool)
_value = {kind: {q: _declare("bc_%s_%s" % (kind, q), POINTER(c_double), c_void_p, c_int) for q in "RT"}
          for kind in ("surface", "part")}
_slope = {kind: {q: _declare("bc_%s_d%s" % (kind, q), POINTER(c_double), c_void_p, c_int, c_size_t) for q in "RT"}
          for kind in ("surface", "part")}
_spectrum_compute = _declare("bc_spectrum_compute", c_int, POINTER(_Stack), POINTER(_Back), c_size_t,
                             POINTER(c_double), c_double, c_int, POINTER(_Spectrum), _error)
_spectrum_clear = _declare("bc_spectrum_clear", None, POINTER(_Spectrum))
_callouts_read = _declare("bc_callouts_read", c_int, c_char_p, c_void_p, POINTER(_Callouts), _error)
_callouts_clear = _declare("bc_callouts_clear", None, POINTER(_Callouts))
_check = _declare("bc_check", c_int, POINTER(_Stack), POINTER(_Callouts), c_size_t, POINTER(_Medium), POINTER(_Back),
                  POINTER(_CheckResult), _error)
_check_clear = _declare("bc_check_result_clear", None, POINTER(_CheckResult))
_design_defaults = _declare("bc_design_defaults", _Problem, POINTER(_Callouts), _Medium)
_draft_defaults = _declare("bc_draft_defaults", _DraftOptions)
_draft = _declare("bc_draft", c_int, POINTER(_Problem), POINTER(_DraftOptions), POINTER(_DraftResult), _error)
_draft_clear = _declare("bc_draft_result_clear", None, POINTER(_DraftResult))


# ---- between Python and C ----


def _try(function, *arguments):
    error = _BcError()
    if function(*arguments, byref(error)) != 0:
        raise Error(error.message.decode("utf-8", "replace"))


def _doubles(values):
    values = [float(value) for value in values]
    return (c_double * len(values))(*values)


def _array(pointer, count):
    if numpy is None:
        return pointer[:count]
    return numpy.ctypeslib.as_array(pointer, (count,)).copy() if count else numpy.empty(0)


def _mean(one, other):
    return 0.5 * (one + other) if numpy is not None else [0.5 * (a + b) for a, b in zip(one, other)]


def _pick(word, words, what):
    if word not in words:
        raise Error("%s: found %r; expected one of %s" % (what, word, ", ".join(words)))
    return words.index(word)


def version():
    """The version of the library, as text."""
    return _version().decode()


class Tables:
    """Materials by name: the folders searched, first to last. None: $BLOOMCOAT_TABLES and the installed tables."""

    def __init__(self, folders=None):
        self._materials = c_void_p()
        _try(_materials_alloc, byref(self._materials))
        if folders is None:
            folders = [folder for folder in os.environ.get("BLOOMCOAT_TABLES", "").split(":") if folder]
            folders += [f for f in ("/usr/local/share/bloomcoat/materials", "/usr/share/bloomcoat/materials")
                        if os.path.isdir(f)]
        for folder in [folders] if isinstance(folders, str) else folders:
            _try(_materials_add_folder, self._materials, os.fsencode(folder))

    def __del__(self):
        if getattr(self, "_materials", None):
            _materials_free(self._materials)

    def _medium(self, name, what="material"):
        if isinstance(name, complex):
            name = "%r-%ri" % (name.real, abs(name.imag))
        elif not isinstance(name, str):
            name = repr(float(name))
        medium = _Medium()
        _try(_medium_find, self._materials, name.encode(), what.encode(), byref(medium))
        return medium

    def index(self, name, wavelength_nm):
        """(n, k) of a material at the wavelengths."""
        waves = _doubles(wavelength_nm)
        n, k = (c_double * len(waves))(), (c_double * len(waves))()
        _try(_dispersion_index, self._medium(name).dispersion, len(waves), waves, n, k)
        return _array(ctypes.cast(n, POINTER(c_double)), len(waves)), _array(ctypes.cast(k, POINTER(c_double)),
                                                                             len(waves))

    def _stack(self, layers, incident, substrate):
        stack = _Stack(incident=self._medium(incident, "incident"), substrate=self._medium(substrate, "substrate"))
        room = (_Layer * max(len(layers), 1))()
        for j, (material, thickness_nm) in enumerate(layers):
            room[j] = _Layer(material=self._medium(material, "layer"), thickness_nm=thickness_nm)
        stack.layers, stack.layer = len(layers), room
        return stack


class _Engine:
    """What Surface and Part have in common."""

    def __init__(self, wavelength_nm, materials, substrate, incident, aoi_deg, max_layers, tables):
        self._kept = []
        self._waves = _doubles(wavelength_nm)
        self.wavelength_nm = list(self._waves)
        self._tables = tables
        self._names = list(materials)
        self._memory = c_void_p()
        index = (_Index * max(len(self._names), 1))(*[self._index(m) for m in self._names])
        self._kept.append(index)
        self._setup = _SurfaceSetup(
            wavelengths=len(self._waves), wavelength_nm=self._waves, aoi_rad=math.radians(aoi_deg),
            incident=self._index(incident), substrate=self._index(substrate), materials=len(self._names),
            material=index, max_layers=max_layers)
        self.max_layers = max_layers

    def _index(self, material):
        count = len(self._waves)
        if isinstance(material, str):
            if self._tables is None:
                self._tables = Tables()
            n, k = self._tables.index(material, self._waves)
        else:
            values = list(material) if hasattr(material, "__len__") else [material] * count
            if len(values) != count:
                raise Error("an index has %d values; expected %d, one for each wavelength" % (len(values), count))
            n, k = [complex(v).real for v in values], [-complex(v).imag for v in values]
        n, k = _doubles(n), _doubles(k)
        self._kept += [n, k]
        return _Index(n, k)

    def evaluate(self, material, thickness_nm, gradient=False):
        """Compute the layers material[j] (numbers into `materials`) of thickness_nm[j], from the incident medium."""
        layers = len(thickness_nm)
        if len(material) != layers or layers > self.max_layers:
            raise Error("%d materials and %d thicknesses; expected as many of each, at most %d"
                        % (len(material), layers, self.max_layers))
        if any(not 0 <= m < len(self._names) for m in material) or any(not t >= 0 for t in thickness_nm):
            raise Error("a layer's material is none of the %d, or its thickness is less than 0" % len(self._names))
        self._evaluate(layers, (c_uint * max(layers, 1))(*[int(m) for m in material]),
                       _doubles(thickness_nm) if layers else (c_double * 1)(), gradient)
        self._layers, self._gradient = layers, gradient
        return self

    def _take(self, get, polarization, *more):
        if not hasattr(self, "_layers"):
            raise Error("nothing was evaluated yet")
        which = _pick(polarization, _POLARIZATIONS[:3], "polarization")
        one = [_array(get(self._memory, plane, *more), len(self._waves))
               for plane in ((_S, _P) if which == 0 else (_S,) if which == 1 else (_P,))]
        return one[0] if which else _mean(*one)

    def _slopes(self, quantity, polarization):
        if not getattr(self, "_gradient", False):
            raise Error("no slopes were computed; expected evaluate(..., gradient=True) before")
        rows = [self._take(_slope[self._kind][quantity], polarization, j) for j in range(self._layers)]
        return numpy.array(rows).reshape(self._layers, len(self._waves)) if numpy is not None else rows

    def R(self, polarization="unpolarized"):
        """Reflectance [wavelengths] of the last evaluation."""
        return self._take(_value[self._kind]["R"], polarization)

    def T(self, polarization="unpolarized"):
        """Transmittance [wavelengths] of the last evaluation."""
        return self._take(_value[self._kind]["T"], polarization)

    def dR(self, polarization="unpolarized"):
        """dR / d thickness [layers, wavelengths], per nm."""
        return self._slopes("R", polarization)

    def dT(self, polarization="unpolarized"):
        """dT / d thickness [layers, wavelengths], per nm."""
        return self._slopes("T", polarization)


class Surface(_Engine):
    """One coated surface at one angle on one grid (bloomcoat/surface.h); T is what enters the substrate."""

    _kind = "surface"

    def __init__(self, wavelength_nm, materials, substrate, incident=1.0, aoi_deg=0.0, max_layers=64, tables=None):
        super().__init__(wavelength_nm, materials, substrate, incident, aoi_deg, max_layers, tables)
        _try(_surface_alloc, byref(self._setup), byref(self._memory))

    def __del__(self):
        if getattr(self, "_memory", None):
            _surface_free(self._memory)

    def _evaluate(self, layers, material, thickness_nm, gradient):
        _surface_evaluate(self._memory, layers, material, thickness_nm, _GRADIENT if gradient else _VALUES)


class Part(_Engine):
    """A plane-parallel part, both surfaces added incoherently (bloomcoat/part.h); back 'uncoated' or 'same'."""

    _kind = "part"

    def __init__(self, wavelength_nm, materials, substrate, incident=1.0, aoi_deg=0.0, back="uncoated",
                 substrate_mm=0.0, max_layers=64, tables=None):
        super().__init__(wavelength_nm, materials, substrate, incident, aoi_deg, max_layers, tables)
        setup = _PartSetup(front=self._setup, back=_pick(back, _BACKS[1:], "back") + 1, substrate_mm=substrate_mm)
        _try(_part_alloc, byref(setup), byref(self._memory))

    def __del__(self):
        if getattr(self, "_memory", None):
            _part_free(self._memory)

    def _evaluate(self, layers, material, thickness_nm, gradient):
        _part_evaluate(self._memory, layers, material, thickness_nm, gradient)


def _back(kind, substrate_mm):
    return _Back(kind=_pick(kind, _BACKS, "back"), substrate_mm=substrate_mm)


def spectrum(layers, wavelength_nm, substrate, incident="air", aoi_deg=0.0, back="none", substrate_mm=0.0,
             tables=None):
    """R, T and A of a stack as a dictionary: result['R']['s'], result['T']['unpolarized'], ..."""
    tables = tables or Tables()
    stack, waves, out = tables._stack(layers, incident, substrate), _doubles(wavelength_nm), _Spectrum()
    _try(_spectrum_compute, byref(stack), byref(_back(back, substrate_mm)), len(waves), waves, math.radians(aoi_deg),
         0, byref(out))
    result = {q: {word: _array(getattr(out, q)[p], out.count) for p, word in enumerate(_POLARIZATIONS[:3])}
              for q in _QUANTITIES}
    _spectrum_clear(byref(out))
    return result


def _read_callouts(path, tables):
    callouts = _Callouts()
    _try(_callouts_read, os.fsencode(path), tables._materials, byref(callouts))
    return callouts


def check(layers, callouts, substrate, incident="air", back="uncoated", substrate_mm=0.0, tables=None):
    """Hold a stack against a file of callouts: {'pass', 'limit_used', 'callouts': [{...}]}."""
    tables = tables or Tables()
    stack, rows, result = tables._stack(layers, incident, substrate), _read_callouts(callouts, tables), _CheckResult()
    try:
        _try(_check, byref(stack), byref(rows), 0, None, byref(_back(back, substrate_mm)), byref(result))
        return {"pass": result.passes, "limit_used": result.limit_used,
                "callouts": [{"name": f.callout.contents.name.decode(), "value": f.value,
                              "limit": f.callout.contents.limit, "limit_used": f.limit_used, "at_nm": f.at_nm,
                              "aoi_deg": math.degrees(f.at_aoi_rad),
                              "polarization": _POLARIZATIONS[f.at_polarization], "pass": f.passes}
                             for f in result.finding[:result.count]]}
    finally:
        _check_clear(byref(result))
        _callouts_clear(byref(rows))


def draft(callouts, substrate, materials, incident="air", aim="fewest", max_layers=8, minimum_nm=0.0, seed=1,
          effort=1.0, back="uncoated", substrate_mm=0.0, tables=None):
    """Design a stack to a file of callouts: {'layers', 'total_nm', 'limit_used'}, the layers as spectrum() takes."""
    tables = tables or Tables()
    rows, result, options = _read_callouts(callouts, tables), _DraftResult(), _draft_defaults()
    names = [substrate] if isinstance(substrate, (str, int, float, complex)) else list(substrate)
    glass = (_Medium * len(names))(*[tables._medium(name, "substrate") for name in names])
    media = (_Medium * max(len(materials), 1))(*[tables._medium(name) for name in materials])
    try:
        problem = _design_defaults(byref(rows), tables._medium(incident, "incident"))
        problem.substrates, problem.substrate = len(names), glass
        problem.materials, problem.material = len(materials), media
        problem.max_layers, problem.minimum_nm, problem.back = max_layers, minimum_nm, _back(back, substrate_mm)
        options.aim, options.seed, options.effort = _pick(aim, ("fewest", "best"), "aim"), seed, effort
        _try(_draft, byref(problem), byref(options), byref(result))
        rung = result.rung[result.chosen]
        return {"layers": [(layer.material.name.decode(), layer.thickness_nm)
                           for layer in rung.stack.layer[:rung.stack.layers]],
                "total_nm": rung.total_nm, "limit_used": rung.limit_used}
    finally:
        _draft_clear(byref(result))
        _callouts_clear(byref(rows))

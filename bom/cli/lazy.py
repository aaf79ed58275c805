"""Modules that are loaded when something of them is first asked for."""

import sys
from importlib.util import LazyLoader, find_spec, module_from_spec
from types import ModuleType
from typing import Any


def later(name: str) -> ModuleType:
    """The module called `name`, loaded at its first use, as the manual of `importlib` has it.

    What a command answers as JSON stands on pydantic, which takes longer to load than most jobs
    take to work out: a command that prints tables does not wait for it.
    """
    if name in sys.modules:
        return sys.modules[name]
    spec: Any = find_spec(name)  # a module of our own is there
    spec.loader = LazyLoader(spec.loader)
    module = sys.modules[name] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module

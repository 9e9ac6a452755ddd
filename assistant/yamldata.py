"""YAML read with the line of every mapping kept, so that an error can name file and line."""

from pathlib import Path
from typing import Any, NoReturn

import yaml

from assistant.errors import HosesideError


class Mapping(dict[str, Any]):
    """A YAML mapping that knows its file and the line it began on."""

    file: str = "?"
    line: int = 0

    def fail(self, problem: str) -> NoReturn:
        """Raise the one-sentence error for a problem in this mapping."""
        raise HosesideError(f"{self.file}, line {self.line}: {problem}")

    def need(self, key: str, kind: type | tuple[type, ...], what: str) -> Any:
        """The value of `key`; an error naming `what` if it is missing or of another type."""
        if key not in self:
            self.fail(f"{what} lacks '{key}'; add it.")
        return self.maybe(key, kind, what)

    def maybe(self, key: str, kind: type | tuple[type, ...], what: str, default: Any = None) -> Any:
        """As `need`, but `default` where the key is absent."""
        if key not in self:
            return default
        value = self[key]
        wrong_bool = isinstance(value, bool) and kind in (int, float, (int, float))
        if not isinstance(value, kind) or wrong_bool:
            hint = " (put it in quotes)" if kind is str and isinstance(value, bool) else ""
            self.fail(f"'{key}' of {what} is {value!r}, not {_named(kind)}{hint}.")
        return value

    def only(self, allowed: set[str], what: str) -> None:
        """Refuse keys nobody reads: a misspelt key must not pass in silence."""
        unknown = sorted(set(self) - allowed)
        if unknown:
            known = ", ".join(sorted(allowed))
            self.fail(f"{what} has unknown key '{unknown[0]}'; known keys are {known}.")


def _named(kind: type | tuple[type, ...]) -> str:
    names = {str: "text", list: "a list", dict: "a mapping", bool: "true or false",
             int: "a whole number", float: "a number"}
    kinds = kind if isinstance(kind, tuple) else (kind,)
    return "a number" if set(kinds) == {int, float} else " or ".join(
        names.get(k, k.__name__) for k in kinds)


class _Loader(yaml.SafeLoader):  # type: ignore[misc,unused-ignore]
    pass


def _construct_mapping(loader: _Loader, node: yaml.MappingNode) -> Mapping:
    result = Mapping()
    result.file = loader.name
    result.line = node.start_mark.line + 1
    for key_node, value_node in node.value:
        key = loader.construct_object(key_node, deep=True)
        if isinstance(key, bool):  # YAML 1.1 reads a bare on/off/yes/no as true/false
            key = key_node.value
        if key in result:
            raise HosesideError(
                f"{loader.name}, line {key_node.start_mark.line + 1}: '{key}' stands twice; "
                "keep one.")
        result[key] = loader.construct_object(value_node, deep=True)
    return result


_Loader.add_constructor(yaml.resolver.BaseResolver.DEFAULT_MAPPING_TAG, _construct_mapping)


def load_yaml(path: Path) -> Mapping:
    """The top mapping of a YAML file. Raises HosesideError naming file, line and problem."""
    try:
        with open(path, encoding="utf-8") as stream:
            loader = _Loader(stream)
            loader.name = str(path)
            data = loader.get_single_data()
    except FileNotFoundError:
        raise HosesideError(f"{path}: there is no such file; check the name.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise HosesideError(f"{path}: cannot be read ({error}).") from None
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 0
        raise HosesideError(f"{path}, line {line}: not valid YAML: {error.problem}.") from None
    except yaml.YAMLError as error:
        raise HosesideError(f"{path}: not valid YAML ({error}).") from None
    if not isinstance(data, Mapping):
        raise HosesideError(f"{path}, line 1: the file must be a mapping of names to values.")
    return data

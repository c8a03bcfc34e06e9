"""A table of a document as JSON Schema, for editors: made from the same model that reads it."""

from typing import Any

from pydantic.json_schema import CoreRef, GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from auditor.models.forms import Table
from auditor.models.json_forms import Form, Schema
from auditor.models.meanings import meanings

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def schema_of(kind: type[Table]) -> Schema:
    """Return the JSON Schema of a kind of document, with what each of its keys means.

    Source: JSON Schema, draft 2020-12.
    """
    return {"$schema": DRAFT, **kind.model_json_schema(schema_generator=_ForEditors)}


class _ForEditors(GenerateJsonSchema):
    """Tells of a table what an editor needs: keys, their meanings, and how values are written."""

    def model_schema(self, schema: core_schema.ModelSchema) -> JsonSchemaValue:
        """Return the schema of a table, each key with its meaning and the form of its value."""
        table = super().model_schema(schema)
        del table["title"]
        kind: type[Table] = schema["cls"]
        said = meanings(kind)
        for key, value in table["properties"].items():
            form = value.get("description", "")
            value["description"] = f"{said.get(key, '')} {form}".strip()
        return table

    def function_plain_schema(
        self, schema: core_schema.PlainValidatorFunctionSchema
    ) -> JsonSchemaValue:
        """Return how a value is written that a function of ours reads."""
        form: Form = schema["metadata"]["form"]
        if not form.name:
            return form.schema()
        definition, reference = self.get_cache_defs_ref_schema(CoreRef(form.name))
        self.definitions[definition] = form.schema()
        return reference

    def function_before_schema(
        self, schema: core_schema.BeforeValidatorFunctionSchema
    ) -> JsonSchemaValue:
        """Return how a value is written that has a shorter form too."""
        shorthand = schema["metadata"]["shorthand"]
        both: JsonSchemaValue = shorthand(self.generate_inner(schema["schema"]))
        return both

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        """Return how a value is written that may be left out; TOML has no null."""
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """Return how a value is written, with what it is when left out, where that is one word."""
        value = self.generate_inner(schema["schema"])
        default = schema.get("default")
        is_word = isinstance(default, str | int) and default != ""
        return {**value, "default": default} if is_word else value

    def dict_schema(self, schema: core_schema.DictSchema) -> JsonSchemaValue:
        """Return the schema of a table whose keys are the document's own."""
        return {
            "type": "object",
            "propertyNames": self.generate_inner(schema["keys_schema"]),
            "additionalProperties": self.generate_inner(schema["values_schema"]),
        }

    def field_title_should_be_set(self, schema: Any) -> bool:
        """Say that a key needs no title beside its name."""
        return False

"""Static files under hashed names."""

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage

OWN_MODULES = "desk/*.js"  # of packages, each looks after its own; the tablet serves its modules by itself


class HashedStatic(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # whitenoise has no types
    """The desk's modules import each other by their hashed names too, so that a page never loads another version's."""

    _imports = HashedFilesMixin._js_module_import_aggregation_patterns[1]  # type: ignore[attr-defined]
    patterns = (*HashedFilesMixin.patterns, (OWN_MODULES, _imports))

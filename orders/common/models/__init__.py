from orders.common.models.base import AppendOnlyModel, PublicIdModel, VersionedModel
from orders.common.models.change import Change, ChangeAudience
from orders.common.models.first_try import FirstTry
from orders.common.models.numbers import NumberSeries
from orders.common.models.reply import RememberedReply
from orders.common.models.run import Run
from orders.common.models.user import Role, User

__all__ = [
    "AppendOnlyModel",
    "Change",
    "ChangeAudience",
    "FirstTry",
    "NumberSeries",
    "PublicIdModel",
    "RememberedReply",
    "Role",
    "Run",
    "User",
    "VersionedModel",
]

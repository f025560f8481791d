"""The vocabulary: which features are looked at, and which states they have."""

from trug.characters.model import Character, Condition, Need, State, Vocabulary
from trug.characters.loader import load_vocabulary

__all__ = ["Character", "Condition", "Need", "State", "Vocabulary", "load_vocabulary"]

"""The vocabulary: which features are looked at, and which states they have."""

from trug.characters.loader import load_vocabulary
from trug.characters.model import Character, Condition, Need, State, Vocabulary

__all__ = ["Character", "Condition", "Need", "State", "Vocabulary", "load_vocabulary"]

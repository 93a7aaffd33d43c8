//! Find sets, and tables with a value for each.
//!
//! What probes found is one signed sum over sets of finds that are taken together as missed (`findings`). A find is named by
//! its place in a list: of all finds, of those that may be lines of one system, or of those that may be one run. Most finds
//! have nothing to do with a given run, so tables are kept over the short lists, and a set of the long list is asked for by
//! its part in the short one ([`FindSet::among`]).

use std::ops::{Deref, DerefMut, Index, IndexMut};
use std::sync::Arc;

/// A set of finds of one list, by their places in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct FindSet(usize);

impl FindSet {
    /// No find.
    pub const NONE: Self = Self(0);

    /// All of so many finds.
    pub fn all(finds: usize) -> Self {
        Self(Self::count(finds) - 1)
    }

    /// The number of sets of so many finds.
    pub fn count(finds: usize) -> usize {
        1 << finds
    }

    /// Every set of so many finds, in the order of tables: each after all that it holds.
    pub fn each(finds: usize) -> impl DoubleEndedIterator<Item = Self> + Clone {
        (0..Self::count(finds)).map(Self)
    }

    /// Every set within this one: itself first, no find last.
    pub fn subsets(self) -> impl Iterator<Item = Self> {
        let smaller = move |set: &Self| (set.0 > 0).then(|| Self((set.0 - 1) & self.0));
        std::iter::successors(Some(self), smaller)
    }

    /// The finds, ascending.
    pub fn finds(self) -> impl Iterator<Item = usize> {
        (0..(usize::BITS - self.0.leading_zeros()) as usize).filter(move |&find| self.contains(find))
    }

    /// Number of finds.
    pub fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self == Self::NONE
    }

    /// Whether a find is in it.
    pub fn contains(self, find: usize) -> bool {
        self.0 >> find & 1 == 1
    }

    /// Whether another set has all of its finds.
    pub fn is_within(self, other: Self) -> bool {
        self.0 & other.0 == self.0
    }

    /// The set with a find.
    pub fn with(self, find: usize) -> Self {
        Self(self.0 | 1 << find)
    }

    /// The set without a find.
    pub fn without(self, find: usize) -> Self {
        Self(self.0 & !(1 << find))
    }

    /// The finds of either.
    pub fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// The finds of both.
    pub fn intersection(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// The finds that another set lacks.
    pub fn difference(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// The part of the set in a shorter list: `places` says where each find of that list is in this one.
    pub fn among(self, places: &[usize]) -> Self {
        Self(places.iter().enumerate().map(|(short, &long)| (self.0 >> long & 1) << short).sum())
    }

    /// The set of a shorter list in the long one: what [`Self::among`] takes back.
    pub fn of(self, places: &[usize]) -> Self {
        Self(places.iter().enumerate().map(|(short, &long)| (self.0 >> short & 1) << long).sum())
    }

    /// One for an even number of finds, else minus one: the sign in inclusion and exclusion.
    pub fn sign(self) -> f64 {
        if self.len().is_multiple_of(2) { 1.0 } else { -1.0 }
    }
}

impl FromIterator<usize> for FindSet {
    fn from_iter<I: IntoIterator<Item = usize>>(finds: I) -> Self {
        finds.into_iter().fold(Self::NONE, Self::with)
    }
}

/// A value for each set of some finds. The values are owned, shared or a row of a larger table: a `Vec`, an `Arc` or a
/// slice.
#[derive(Clone, Debug, PartialEq)]
pub struct BySet<S>(S);

impl<T> BySet<Vec<T>> {
    /// For so many finds, the value of every set.
    pub fn new(finds: usize, value: impl FnMut(FindSet) -> T) -> Self {
        Self(FindSet::each(finds).map(value).collect())
    }

    /// The same values, shared.
    pub fn shared(self) -> BySet<Arc<[T]>> {
        BySet(self.0.into())
    }
}

impl<T, S: Deref<Target = [T]>> BySet<S> {
    /// The values in the order of [`FindSet::each`], as many as there are sets of some number of finds.
    pub fn from_values(values: S) -> Self {
        debug_assert!(values.len().is_power_of_two(), "{} sets", values.len());
        Self(values)
    }

    /// The values in the order of [`FindSet::each`].
    pub fn values(&self) -> &[T] {
        &self.0
    }

    /// The same values, lent.
    pub fn row(&self) -> BySet<&[T]> {
        BySet(&self.0)
    }

    /// Number of finds.
    pub fn finds(&self) -> usize {
        self.0.len().trailing_zeros() as usize
    }

    /// Every set.
    pub fn sets(&self) -> impl DoubleEndedIterator<Item = FindSet> + Clone + use<T, S> {
        FindSet::each(self.finds())
    }

    /// Every set with its value.
    pub fn iter<'a>(&'a self) -> impl Iterator<Item = (FindSet, &'a T)>
    where
        T: 'a,
    {
        FindSet::each(self.finds()).zip(self.0.iter())
    }

    /// Every set with its value, to be changed.
    pub fn iter_mut<'a>(&'a mut self) -> impl Iterator<Item = (FindSet, &'a mut T)>
    where
        S: DerefMut,
        T: 'a,
    {
        FindSet::each(self.finds()).zip(self.0.iter_mut())
    }
}

impl<T, S: Deref<Target = [T]>> Index<FindSet> for BySet<S> {
    type Output = T;

    fn index(&self, set: FindSet) -> &T {
        &self.0[set.0]
    }
}

impl<T, S: DerefMut<Target = [T]>> IndexMut<FindSet> for BySet<S> {
    fn index_mut(&mut self, set: FindSet) -> &mut T {
        &mut self.0[set.0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn members(set: FindSet) -> BTreeSet<usize> {
        (0..6).filter(|&find| set.contains(find)).collect()
    }

    /// All pairs of the 64 sets of six finds against sets of the standard library, exactly.
    #[test]
    fn find_sets_are_sets() {
        for one in FindSet::each(6) {
            let own = members(one);
            assert!(one.finds().eq(own.iter().copied()) && one == own.iter().copied().collect());
            assert_eq!((one.len(), one.is_empty()), (own.len(), own.is_empty()));
            for find in 0..6 {
                let (mut with, mut without) = (own.clone(), own.clone());
                with.insert(find);
                without.remove(&find);
                assert_eq!((members(one.with(find)), members(one.without(find))), (with, without));
            }
            for other in FindSet::each(6) {
                let others = members(other);
                assert_eq!(members(one.union(other)), &own | &others);
                assert_eq!(members(one.intersection(other)), &own & &others);
                assert_eq!(members(one.difference(other)), &own - &others);
                assert_eq!(one.is_within(other), own.is_subset(&others));
            }
        }
    }

    #[test]
    fn subsets_are_each_set_within_once() {
        for set in FindSet::each(6) {
            let subsets: Vec<FindSet> = set.subsets().collect();
            let mut within: Vec<FindSet> = FindSet::each(6).filter(|other| other.is_within(set)).collect();
            within.reverse();
            assert_eq!(subsets, within, "itself first, no find last");
            let signed: f64 = set.subsets().map(FindSet::sign).sum();
            assert_eq!(signed, f64::from(u8::from(set.is_empty())), "inclusion and exclusion cancel");
        }
    }

    #[test]
    fn a_set_goes_to_a_shorter_list_and_back() {
        let places = [1, 4, 5];
        for set in FindSet::each(6) {
            let short = set.among(&places);
            assert!((0..3).all(|find| short.contains(find) == set.contains(places[find])));
            assert_eq!(short.of(&places), set.intersection(places.into_iter().collect()));
        }
    }

    #[test]
    fn a_table_has_a_value_for_each_set() {
        let mut table = BySet::new(4, |set| set.len());
        assert_eq!((table.finds(), table.values().len(), table[FindSet::all(4)]), (4, 16, 4));
        table[FindSet::NONE.with(2)] = 7;
        let row = BySet::from_values(table.values());
        assert!(row.iter().all(|(set, &value)| value == table[set]));
        assert!(
            row.iter()
                .filter(|(set, value)| set.len() != **value)
                .map(|(set, _)| set)
                .eq([FindSet::NONE.with(2)])
        );
    }
}

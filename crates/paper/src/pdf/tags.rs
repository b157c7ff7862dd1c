//! What is what, for who hears the paper read: a tree that grows as the paper is laid out, and whose leaves are
//! painted later, perhaps on several pages.

use krilla::tagging::{BBox, Identifier, Node, TagGroup, TagKind, TagTree};

/// A place in the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tag(usize);

/// The tree.
#[derive(Default)]
pub struct Tags {
    entries: Vec<Entry>,
}

struct Entry {
    kind: TagKind,
    parent: Option<Tag>,
    leaves: Vec<Identifier>,
}

impl Tags {
    /// A new branch at the end of a branch, or of the paper.
    pub fn add(&mut self, parent: impl Into<Option<Tag>>, kind: impl Into<TagKind>) -> Tag {
        self.entries.push(Entry { kind: kind.into(), parent: parent.into(), leaves: Vec::new() });
        Tag(self.entries.len() - 1)
    }

    /// Something painted that belongs to a branch.
    pub fn leaf(&mut self, tag: Tag, identifier: Identifier) {
        self.entries[tag.0].leaves.push(identifier);
    }

    /// Where a picture is.
    pub fn place(&mut self, tag: Tag, place: BBox) {
        if let TagKind::Figure(figure) = &mut self.entries[tag.0].kind {
            figure.set_bbox(Some(place));
        }
    }

    /// The tree as the file has it: branches in the order in which they were added.
    pub fn tree(self, language: &str) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        let mut groups: Vec<(Option<Tag>, TagGroup)> = Vec::new();
        for entry in self.entries {
            let mut group = TagGroup::new(entry.kind);
            entry.leaves.into_iter().for_each(|leaf| group.push(leaf));
            groups.push((entry.parent, group));
        }
        // parents come before their children, so that from the end each is whole when it is taken
        let mut whole: Vec<Vec<TagGroup>> = groups.iter().map(|_| Vec::new()).collect();
        let mut first = Vec::new();
        for n in (0..groups.len()).rev() {
            let (parent, mut group) = groups.pop().expect("as many as there are");
            whole[n].drain(..).rev().for_each(|child| group.push(Node::Group(child)));
            match parent {
                Some(parent) => whole[parent.0].push(group),
                None => first.push(group),
            }
        }
        first.into_iter().rev().for_each(|group| tree.push(Node::Group(group)));
        tree
    }
}

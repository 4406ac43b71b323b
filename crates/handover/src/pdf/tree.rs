//! What the parts of a document are, for readers of screens: a tree whose leaves are marked places on sheets.

use pdf_writer::types::{StructRole, TableHeaderScope};
use pdf_writer::{Chunk, Name, Rect, Ref, TextStr};

/// Number of a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Node(usize);

impl Node {
    /// The object that a node becomes.
    pub(super) fn object(self, first: Ref) -> Ref {
        Ref::new(first.get() + self.0 as i32)
    }
}

/// The whole document.
pub(super) const ROOT: Node = Node(0);

struct Element {
    role: StructRole,
    parent: usize,
    kids: Vec<Kid>,
    more: More,
}

/// What else a node says.
pub(super) enum More {
    Nothing,
    /// Words for those who do not see a figure, and where it lies.
    Alt(String, Rect),
    /// What a heading of a table stands for.
    Heads(TableHeaderScope),
}

enum Kid {
    Node(usize),
    Mark { sheet: usize, id: i32 },
}

/// The tree.
pub(super) struct Tree {
    elements: Vec<Element>,
}

impl Tree {
    pub(super) fn new() -> Tree {
        let root = Element { role: StructRole::Document, parent: 0, kids: Vec::new(), more: More::Nothing };
        Tree { elements: vec![root] }
    }

    /// A new node below another.
    pub(super) fn grow(&mut self, parent: Node, role: StructRole, more: More) -> Node {
        let node = self.elements.len();
        self.elements.push(Element { role, parent: parent.0, kids: Vec::new(), more });
        self.elements[parent.0].kids.push(Kid::Node(node));
        Node(node)
    }

    /// A marked place that belongs to a node.
    pub(super) fn mark(&mut self, node: Node, sheet: usize, id: i32) {
        self.elements[node.0].kids.push(Kid::Mark { sheet, id });
    }

    /// The name of a node's role.
    pub(super) fn name(&self, node: Node) -> Name<'static> {
        self.elements[node.0].role.to_name()
    }

    /// Writes the nodes as objects from `first` on, below `root`, with the sheets' own objects.
    pub(super) fn write(&self, chunk: &mut Chunk, first: Ref, root: Ref, sheets: &[Ref]) {
        let at = |node: usize| Node(node).object(first);
        for (node, element) in self.elements.iter().enumerate() {
            let mut out = chunk.struct_element(at(node));
            out.kind(element.role).parent(if node == 0 { root } else { at(element.parent) });
            match &element.more {
                More::Nothing => {}
                More::Alt(words, place) => {
                    out.alt(TextStr(words));
                    out.attributes().push().layout().bbox(*place);
                }
                More::Heads(scope) => {
                    out.attributes().push().table().scope(*scope);
                }
            }
            let mut kids = out.children();
            for kid in &element.kids {
                match kid {
                    Kid::Node(kid) => drop(kids.struct_element(at(*kid))),
                    Kid::Mark { sheet, id } => {
                        kids.marked_content_ref().page(sheets[*sheet]).marked_content_id(*id);
                    }
                }
            }
        }
    }
}

//! What a screen reader could say of a frame.

use std::collections::HashMap;

use accesskit::{Node, NodeId, Role, TreeUpdate};

/// What a screen reader could say of a frame, a line for each node that has something to say,
/// in reading order: "name: value", or the name alone.
pub fn spoken_lines(update: &TreeUpdate) -> Vec<String> {
    let nodes: HashMap<NodeId, &Node> = update.nodes.iter().map(|(id, node)| (*id, node)).collect();
    let mut lines = Vec::new();
    if let Some(tree) = &update.tree {
        walk(&nodes, tree.root, &mut lines);
    }
    lines
}

fn walk(nodes: &HashMap<NodeId, &Node>, id: NodeId, lines: &mut Vec<String>) {
    // A text run repeats, line by line, what its parent says whole.
    let Some(node) = nodes.get(&id).filter(|node| node.role() != Role::TextRun) else {
        return;
    };
    let line = match (node.label(), node.value()) {
        (Some(label), Some(value)) if label != value => format!("{label}: {value}"),
        (Some(text), _) | (None, Some(text)) => text.to_owned(),
        (None, None) => String::new(),
    };
    if !line.is_empty() {
        lines.push(line);
    }
    for child in node.children() {
        walk(nodes, *child, lines);
    }
}
